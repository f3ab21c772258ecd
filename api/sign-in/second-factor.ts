/**
 * The second thing beside a password: an authenticator that the person has. Its secret is kept sealed; each of its
 * codes is taken once, also over several nodes. For the day that it is lost there are recovery codes.
 */
import type { Clock } from '../clock.ts';
import { ProblemError, unacceptable } from '../problem.ts';
import type { NewSecondFactor, Person, Role } from '../schemas.ts';
import type { Sealing } from '../sealing.ts';
import type { Sql } from '../store/sql.ts';
import { NO_STREAM, type Store } from '../store/store.ts';
import { forgetFailures, ofPerson } from './attempts.ts';
import { authenticatorAddress, newAuthenticatorSecret, stepOf } from './one-time-passwords.ts';
import type { Prove } from './prove.ts';
import {
  activateRecoveryCodes,
  dropRecoveryCodes,
  findRecoveryCode,
  keepRecoveryCodes,
  newRecoveryCodes,
  recoveryCodesLeft,
  useRecoveryCode,
} from './recovery-codes.ts';
import { hashOf } from './secrets.ts';
import { endSessionsOf, keepOnlyProven } from './sessions.ts';
import { rolesWithSecondFactor, setRolesWithSecondFactor } from './sign-in-rules.ts';

interface Row {
  readonly secret: string | null;
  readonly pending: string | null;
}

export interface SecondFactor {
  isOn(personId: string): Promise<boolean>;
  /** Whether a password alone is not enough for somebody. */
  isAskedOf(personId: string): Promise<boolean>;
  /**
   * Gives what the code was; null where none is needed.
   * @throws ProblemError where the code is missing, wrong, or was used.
   */
  requireCode(
    personId: string,
    code: string | undefined,
    address: string,
  ): Promise<'code' | 'recovery code' | null>;
  /** What a person is told of their own. */
  stateOf(personId: string): Promise<{ readonly on: boolean; readonly recoveryCodesLeft: number }>;
  /** Shows a new secret and recovery codes. What was there before counts until a code of the new one has come. */
  begin(person: Person): Promise<NewSecondFactor>;
  /** Every other session of the person ends. `token`: of the session in which this is done. */
  finish(person: Person, code: string, address: string, token: string): Promise<void>;
  /** For somebody who has lost both: away with it, and with every session. */
  reset(personId: string, by: Person): Promise<void>;
  roles(): Promise<readonly Role[]>;
  setRoles(roles: readonly Role[], by: Person): Promise<void>;
}

const refused = (message: string): ProblemError =>
  new ProblemError(401, 'A code is needed', message, [{ field: 'code', message }]);

const NOT_RIGHT =
  'This is not the code that your authenticator shows now, or it was used already. Wait for the next one; are the clocks of both right?';

/** With its recovery codes. */
export async function dropSecondFactor(sql: Sql, personId: string): Promise<void> {
  await sql.run('delete from second_factors where person_id = ?', personId);
  await dropRecoveryCodes(sql, personId);
  await forgetFailures(sql, ofPerson(personId, 'code'));
}

export function createSecondFactor({
  store,
  clock,
  sealing,
  prove,
}: {
  readonly store: Store;
  readonly clock: Clock;
  readonly sealing: Sealing;
  readonly prove: Prove;
}): SecondFactor {
  const { sql } = store;
  const sealedFor = (personId: string): string => `authenticator of ${personId}`;

  const rowOf = (personId: string): Promise<Row | null> =>
    sql.one('select secret, pending from second_factors where person_id = ?', personId);

  function openSecret(personId: string, sealed: string): string {
    const secret = sealing.open(sealed, sealedFor(personId));
    if (secret !== null) return secret;
    const message =
      'This server has another key than the one that your authenticator was set up with (SECRETS_KEY_FILE). Use a recovery code, or ask an administrator to reset the second factor.';
    throw new ProblemError(503, 'Cannot be compared', message, [{ field: 'code', message }]);
  }

  /** Takes the step of a code, unless it or a later one was taken: one of several nodes gets it. */
  const takeStep = async (personId: string, sealed: string, step: number): Promise<boolean> => {
    const taken = await store.transaction(
      (transaction) =>
        transaction.sql.one(
          `update second_factors set last_step = ? where person_id = ? and last_step < ?
             and (secret = ? or pending = ?) returning person_id`,
          step,
          personId,
          step,
          sealed,
          sealed,
        ),
      [NO_STREAM],
    );
    return taken !== null;
  };

  async function authenticatorFits(personId: string, sealed: string, digits: string): Promise<boolean> {
    const step = stepOf(openSecret(personId, sealed), digits, clock.now());
    return step !== null && takeStep(personId, sealed, step);
  }

  async function recoveryFits(personId: string, typed: string): Promise<boolean> {
    const hash = await findRecoveryCode(sql, personId, typed);
    if (hash === null) return false;
    return store.transaction(
      async (transaction) => {
        const used = await useRecoveryCode(transaction.sql, hash, clock.now());
        if (used)
          await transaction.addNote({
            at: clock.now(),
            personId,
            what: 'recovery code used',
            about: personId,
            detail: null,
          });
        return used;
      },
      [NO_STREAM],
    );
  }

  const digitsIn = (typed: string): string | null => /^\d{6}$/.exec(typed.replace(/\s/g, ''))?.[0] ?? null;

  return {
    async isOn(personId) {
      return (await rowOf(personId))?.secret != null;
    },

    async isAskedOf(personId) {
      const person = (await store.plantModel()).people.find(({ id }) => id === personId);
      return person !== undefined && (await rolesWithSecondFactor(sql)).includes(person.role);
    },

    async requireCode(personId, code, address) {
      const secret = (await rowOf(personId))?.secret ?? null;
      if (secret === null) return null;
      if (code === undefined)
        throw refused('Type the code that your authenticator shows now, or one of your recovery codes.');
      const digits = digitsIn(code);
      const isRight = () =>
        digits === null ? recoveryFits(personId, code) : authenticatorFits(personId, secret, digits);
      if (!(await prove(personId, 'code', address, isRight))) throw refused(NOT_RIGHT);
      return digits === null ? 'recovery code' : 'code';
    },

    async stateOf(personId) {
      const on = (await rowOf(personId))?.secret != null;
      return { on, recoveryCodesLeft: on ? await recoveryCodesLeft(sql, personId) : 0 };
    },

    async begin(person) {
      const secret = newAuthenticatorSecret();
      const recoveryCodes = newRecoveryCodes();
      const hashes = await Promise.all(recoveryCodes.map(hashOf));
      await store.transaction(
        async (transaction) => {
          await transaction.sql.run(
            `insert into second_factors (person_id, pending, last_step) values (?, ?, 0)
             on conflict (person_id) do update set pending = excluded.pending`,
            person.id,
            sealing.seal(secret, sealedFor(person.id)),
          );
          await keepRecoveryCodes(transaction.sql, person.id, hashes);
        },
        [NO_STREAM],
      );
      return { secret, address: authenticatorAddress(secret, person.name), recoveryCodes };
    },

    async finish(person, code, address, token) {
      const pending = (await rowOf(person.id))?.pending ?? null;
      if (pending === null)
        throw unacceptable('code', 'belongs to nothing that was begun; begin again with your password.');
      const digits = digitsIn(code) ?? '';
      const isRight = () => authenticatorFits(person.id, pending, digits);
      if (!(await prove(person.id, 'code', address, isRight))) throw unacceptable('code', NOT_RIGHT);
      await store.transaction(
        async (transaction) => {
          await transaction.sql.run(
            'update second_factors set secret = pending, pending = null where person_id = ? and pending = ?',
            person.id,
            pending,
          );
          await activateRecoveryCodes(transaction.sql, person.id);
          await keepOnlyProven(transaction.sql, person.id, token, clock.now());
          await transaction.addNote({
            at: clock.now(),
            personId: person.id,
            what: 'second factor set up',
            about: person.id,
            detail: null,
          });
        },
        [NO_STREAM],
      );
    },

    reset: (personId, by) =>
      store.transaction(
        async (transaction) => {
          await dropSecondFactor(transaction.sql, personId);
          await endSessionsOf(transaction.sql, personId, clock.now());
          await transaction.addNote({
            at: clock.now(),
            personId: by.id,
            what: 'second factor reset',
            about: personId,
            detail: null,
          });
        },
        [NO_STREAM],
      ),

    roles: () => rolesWithSecondFactor(sql),

    setRoles: (roles, by) =>
      store.transaction(
        async (transaction) => {
          await setRolesWithSecondFactor(transaction.sql, roles);
          await transaction.addNote({
            at: clock.now(),
            personId: by.id,
            what: 'second factor asked of',
            about: 'sign-in',
            detail: { roles },
          });
        },
        [NO_STREAM],
      ),
  };
}

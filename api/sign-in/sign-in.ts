/** Signing in and out, choosing secrets, registering stations: everything that writes to the tables of accounts. */
import { randomUUID } from 'node:crypto';
import type { Clock } from '../clock.ts';
import type { Monitoring } from '../monitoring/monitoring.ts';
import { conflict, ProblemError, unacceptable, unknown } from '../problem.ts';
import type { Person, PlantModel, Secrets, SignInSubmission } from '../schemas.ts';
import type { Sql } from '../store/sql.ts';
import { type AuditNote, NO_STREAM, type Store, type StoreTransaction } from '../store/store.ts';
import {
  countFailure,
  forgetAttempts,
  forgetFailures,
  ofAddress,
  ofPerson,
  refuseWhileWaiting,
} from './attempts.ts';
import { clearCookie, cookieOf, setCookie } from './cookies.ts';
import { dropTokensFor, findToken, keepToken, type OneTimeToken, useToken } from './one-time-tokens.ts';
import {
  type ListedRegistration,
  type Registration,
  registerStation,
  registrationOf,
  registrations,
  withdrawRegistration,
} from './registered-stations.ts';
import { checkPassword, checkPin, hashOf, matches } from './secrets.ts';
import {
  beginSession,
  endSession,
  endSessionsAt,
  endSessionsOf,
  LONGEST_SESSION,
  type Session,
  sessionOf,
} from './sessions.ts';
import { newCode, newToken, tidyCode } from './tokens.ts';

const MINUTE = 60_000;
const LINK_LASTS = 24 * 60 * MINUTE;
/** Long enough to walk from one screen to the other. */
const CODE_LASTS = 15 * MINUTE;
/** The longest that browsers keep a cookie; it is renewed with each sign-in. */
const STATION_COOKIE_SECONDS = 400 * 24 * 3600;

/** What is known of a browser by its cookies. */
interface Visitor {
  readonly session: Session | null;
  readonly registration: Registration | null;
}

/** A person who proves who they are, as the sender wrote it. */
interface Proof {
  readonly personId: string;
  readonly secret: string;
}

interface AccountRow {
  readonly personId: string;
  readonly hasPassword: boolean;
  readonly hasPin: boolean;
}

interface StoredAccount {
  readonly passwordHash: string | null;
  readonly pinHash: string | null;
}

export interface SignIn {
  /** `used`: the request is something that a person did. */
  visitor(request: Request, used: boolean): Promise<Visitor>;
  /** Gives the cookies of the new session. */
  begin(request: Request, address: string, submission: SignInSubmission): Promise<readonly string[]>;
  /** The same where somebody else has proven who it is. */
  beginProven(request: Request, address: string, personId: string, way: string): Promise<readonly string[]>;
  end(request: Request): Promise<readonly string[]>;
  endEverywhere(person: Person): Promise<void>;
  /** Whether this person has just proven who they are; for a second signature. */
  confirm(request: Request, address: string, proof: Proof): Promise<void>;
  changeOwn(
    request: Request,
    address: string,
    person: Person,
    current: string,
    secrets: Secrets,
  ): Promise<readonly string[]>;
  accounts(): Promise<readonly AccountRow[]>;
  /** A token for a link with which the person chooses their secrets. */
  newLink(personId: string, by: Person): Promise<{ readonly token: string; readonly expiresAt: number }>;
  /** The person can no longer sign in, and is signed out everywhere. */
  close(personId: string, by: Person): Promise<void>;
  newStationCode(
    stationId: string,
    by: Person,
  ): Promise<{ readonly code: string; readonly expiresAt: number }>;
  registerStation(request: Request, address: string, code: string): Promise<readonly string[]>;
  registrations(): Promise<readonly ListedRegistration[]>;
  withdrawRegistration(id: string, by: Person): Promise<void>;
  /** What a link is for. */
  lookAtLink(token: string): Promise<OneTimeToken>;
  chooseSecrets(
    request: Request,
    address: string,
    token: string,
    secrets: Secrets,
  ): Promise<readonly string[]>;
  makeFirstAdministrator(
    request: Request,
    address: string,
    token: string,
    person: Pick<Person, 'id' | 'name'>,
    secrets: Secrets,
  ): Promise<readonly string[]>;
  /** A token for the link that makes the first administrator; null where one can sign in. */
  firstStart(): Promise<string | null>;
}

/** The same words for an unknown person, one without this secret, and a wrong one. */
const notSignedIn = (): ProblemError => {
  const message = 'Name and PIN or password do not belong together. Look at both and try again.';
  return new ProblemError(401, 'Not signed in', message, [{ field: 'secret', message }]);
};

const usedUp = (what: string): ProblemError => {
  const message = `This ${what} was used already, is too old, or is not complete. Ask an administrator for a new one.`;
  return new ProblemError(404, 'Not valid any more', message, [{ field: 'token', message }]);
};

export function createSignIn({
  store,
  monitoring,
  clock,
}: {
  readonly store: Store;
  readonly monitoring: Pick<Monitoring, 'savePlantRecord'>;
  readonly clock: Clock;
}): SignIn {
  const note = (
    transaction: StoreTransaction,
    personId: string | null,
    what: string,
    about: string,
    detail: AuditNote['detail'] = null,
  ): Promise<void> => transaction.addNote({ at: clock.now(), personId, what, about, detail });

  const account = (sql: Sql, personId: string): Promise<StoredAccount | null> =>
    sql.one(
      'select password_hash as "passwordHash", pin_hash as "pinHash" from accounts where person_id = ?',
      personId,
    );

  const registrationAt = async (request: Request): Promise<Registration | null> => {
    const token = cookieOf(request, 'station');
    return token === null ? null : registrationOf(store.sql, token);
  };

  /** Counts the attempt, compares, and forgets it where the secret is right. */
  async function prove(
    personId: string,
    secret: string,
    way: 'pin' | 'password',
    address: string,
  ): Promise<boolean> {
    const person = ofPerson(personId, way);
    const place = ofAddress(address);
    await store.transaction(
      async ({ sql }) => {
        await refuseWhileWaiting(sql, [person, place], clock.now());
        await countFailure(sql, person, clock.now());
      },
      [NO_STREAM],
    );
    const stored = await account(store.sql, personId);
    const hash = way === 'pin' ? stored?.pinHash : stored?.passwordHash;
    const known = isPerson(await store.plantModel(), personId);
    const right = (await matches(hash ?? null, secret)) && known;
    // In a hurry a password is typed where the name belongs.
    const about = known ? personId : 'nobody here';
    await store.transaction(
      async (transaction) => {
        if (right) return forgetFailures(transaction.sql, person);
        await countFailure(transaction.sql, place, clock.now());
        await note(transaction, null, 'sign-in failed', about, { way, address });
      },
      [NO_STREAM],
    );
    return right;
  }

  async function startSession(
    transaction: StoreTransaction,
    request: Request,
    personId: string,
    registration: Registration | null,
    way: string,
    address: string,
  ): Promise<readonly string[]> {
    // One browser has one session: what was there before is over.
    const earlier = cookieOf(request, 'session');
    if (earlier !== null) await endSession(transaction.sql, earlier, clock.now());
    const token = await beginSession(transaction.sql, personId, registration?.id ?? null, clock.now());
    await note(transaction, personId, 'signed in', personId, {
      way,
      stationId: registration?.stationId ?? null,
      address,
    });
    const cookies = [setCookie(request, 'session', token, LONGEST_SESSION / 1000)];
    const station = cookieOf(request, 'station');
    if (registration !== null && station !== null)
      cookies.push(setCookie(request, 'station', station, STATION_COOKIE_SECONDS));
    return cookies;
  }

  /** Hashes outside of any transaction: it takes a while, and others write meanwhile. */
  async function checkedHashes(person: Pick<Person, 'id' | 'name'>, secrets: Secrets) {
    const { password, pin } = secrets;
    if (password === undefined && pin === undefined) {
      throw unacceptable('password', 'is missing; choose a password, a PIN, or both.');
    }
    if (password !== undefined) checkPassword(password, [person.id, person.name], 'password');
    if (pin !== undefined) checkPin(pin, 'pin');
    return {
      passwordHash: password === undefined ? null : await hashOf(password),
      pinHash: pin === undefined ? null : await hashOf(pin),
    };
  }

  /** What is not chosen anew stays as it was. Every session of the person ends. */
  async function keepSecrets(
    transaction: StoreTransaction,
    personId: string,
    hashes: StoredAccount,
  ): Promise<void> {
    const { sql } = transaction;
    await sql.run(
      `insert into accounts (person_id, password_hash, pin_hash, changed_at) values (?, ?, ?, ?)
       on conflict (person_id) do update set
         password_hash = coalesce(excluded.password_hash, accounts.password_hash),
         pin_hash = coalesce(excluded.pin_hash, accounts.pin_hash), changed_at = excluded.changed_at`,
      personId,
      hashes.passwordHash,
      hashes.pinHash,
      clock.now(),
    );
    await endSessionsOf(sql, personId, clock.now());
    await forgetAttempts(sql, personId);
    await note(transaction, personId, 'secrets chosen', personId, {
      password: hashes.passwordHash !== null,
      pin: hashes.pinHash !== null,
    });
  }

  const personById = async (personId: string, field: string): Promise<Person> => {
    const person = (await store.plantModel()).people.find(({ id }) => id === personId);
    if (person === undefined) throw unknown('person', personId, field);
    return person;
  };

  return {
    async visitor(request, used) {
      const registration = await registrationAt(request);
      const token = cookieOf(request, 'session');
      const session =
        token === null ? null : await sessionOf(store, token, registration?.id ?? null, used, clock.now());
      return { session, registration };
    },

    async begin(request, address, { personId, password, pin }) {
      const registration = await registrationAt(request);
      if (pin !== undefined && registration === null) {
        throw unacceptable('pin', 'works only at a registered station; sign in with your password here.');
      }
      const way = pin === undefined ? 'password' : 'pin';
      if (!(await prove(personId, pin ?? password ?? '', way, address))) throw notSignedIn();
      return store.transaction(
        (transaction) => startSession(transaction, request, personId, registration, way, address),
        [NO_STREAM],
      );
    },

    async beginProven(request, address, personId, way) {
      const registration = await registrationAt(request);
      return store.transaction(
        (transaction) => startSession(transaction, request, personId, registration, way, address),
        [NO_STREAM],
      );
    },

    async end(request) {
      const token = cookieOf(request, 'session');
      if (token !== null) {
        await store.transaction(
          async (transaction) => {
            const personId = await endSession(transaction.sql, token, clock.now());
            if (personId !== null) await note(transaction, personId, 'signed out', personId);
          },
          [NO_STREAM],
        );
      }
      return [clearCookie(request, 'session')];
    },

    endEverywhere: (person) =>
      store.transaction(
        async (transaction) => {
          await endSessionsOf(transaction.sql, person.id, clock.now());
          await note(transaction, person.id, 'signed out everywhere', person.id);
        },
        [NO_STREAM],
      ),

    async confirm(request, address, { personId, secret }) {
      const atStation = (await registrationAt(request)) !== null;
      const way = atStation && /^\d{4,8}$/.test(secret) ? 'pin' : 'password';
      if (await prove(personId, secret, way, address)) return;
      const message = atStation
        ? 'Name and PIN or password of the second person do not belong together.'
        : 'Name and password of the second person do not belong together; a PIN works only at a registered station.';
      throw new ProblemError(403, 'Second signature not accepted', message, [
        { field: 'secondSignature.secret', message },
      ]);
    },

    async changeOwn(request, address, person, current, secrets) {
      const registration = await registrationAt(request);
      const stored = await account(store.sql, person.id);
      // Whoever has no password yet proves with the PIN, where PINs count.
      const way = stored?.passwordHash == null && registration !== null ? 'pin' : 'password';
      const hashes = await checkedHashes(person, secrets);
      if (!(await prove(person.id, current, way, address))) {
        throw unacceptable(
          'current',
          `is not your ${way === 'pin' ? 'PIN' : 'password'}; nothing was changed.`,
        );
      }
      return store.transaction(
        async (transaction) => {
          await keepSecrets(transaction, person.id, hashes);
          return startSession(transaction, request, person.id, registration, way, address);
        },
        [NO_STREAM],
      );
    },

    async accounts() {
      const rows = await store.sql.all<{ personId: string; hasPassword: number; hasPin: number }>(
        `select person_id as "personId", case when password_hash is null then 0 else 1 end as "hasPassword",
           case when pin_hash is null then 0 else 1 end as "hasPin" from accounts order by person_id`,
      );
      return rows.map(({ personId, hasPassword, hasPin }) => ({
        personId,
        hasPassword: hasPassword === 1,
        hasPin: hasPin === 1,
      }));
    },

    async newLink(personId, by) {
      await personById(personId, 'id');
      const token = newToken();
      const expiresAt = clock.now() + LINK_LASTS;
      await store.transaction(
        async (transaction) => {
          const purpose = { purpose: 'choose secrets', subjectId: personId, madeBy: by.id } as const;
          await keepToken(transaction.sql, token, purpose, expiresAt);
          await note(transaction, by.id, 'one-time link made', personId);
        },
        [NO_STREAM],
      );
      return { token, expiresAt };
    },

    async close(personId, by) {
      await personById(personId, 'id');
      if (personId === by.id)
        throw conflict('id', 'Nobody takes away their own sign-in; ask another administrator.');
      await store.transaction(
        async (transaction) => {
          const { sql } = transaction;
          await sql.run('delete from accounts where person_id = ?', personId);
          await endSessionsOf(sql, personId, clock.now());
          await dropTokensFor(sql, personId);
          await note(transaction, by.id, 'sign-in taken away', personId);
        },
        [NO_STREAM],
      );
    },

    async newStationCode(stationId, by) {
      if (!(await store.plantModel()).stations.some(({ id }) => id === stationId))
        throw unknown('station', stationId, 'id');
      const code = newCode();
      const expiresAt = clock.now() + CODE_LASTS;
      await store.transaction(
        async (transaction) => {
          const purpose = { purpose: 'register station', subjectId: stationId, madeBy: by.id } as const;
          await keepToken(transaction.sql, code, purpose, expiresAt);
          await note(transaction, by.id, 'station code made', stationId);
        },
        [NO_STREAM],
      );
      return { code, expiresAt };
    },

    async registerStation(request, address, typed) {
      const place = ofAddress(address);
      const code = tidyCode(typed);
      await refuseWhileWaiting(store.sql, [place], clock.now());
      if ((await findToken(store.sql, code, clock.now()))?.purpose !== 'register station') {
        await store.transaction(({ sql }) => countFailure(sql, place, clock.now()), [NO_STREAM]);
        throw usedUp('code');
      }
      return store.transaction(
        async (transaction) => {
          const { sql } = transaction;
          const used = await useToken(sql, code, clock.now());
          if (used === null) throw usedUp('code');
          const registration = {
            id: randomUUID(),
            stationId: used.subjectId,
            registeredBy: used.madeBy ?? '',
            registeredAt: clock.now(),
          };
          const token = await registerStation(sql, registration);
          await note(transaction, used.madeBy, 'station registered', used.subjectId, {
            registrationId: registration.id,
            address,
          });
          return [setCookie(request, 'station', token, STATION_COOKIE_SECONDS)];
        },
        [NO_STREAM],
      );
    },

    registrations: () => registrations(store.sql),

    withdrawRegistration: (id, by) =>
      store.transaction(
        async (transaction) => {
          const withdrawn = await withdrawRegistration(transaction.sql, id, clock.now());
          if (withdrawn === null) throw unknown('registration', id, 'id');
          await endSessionsAt(transaction.sql, id, clock.now());
          await note(transaction, by.id, 'station registration withdrawn', withdrawn.stationId, {
            registrationId: id,
          });
        },
        [NO_STREAM],
      ),

    async lookAtLink(token) {
      const found = await findToken(store.sql, token, clock.now());
      if (found === null || found.purpose === 'register station') throw usedUp('link');
      return found;
    },

    async chooseSecrets(request, address, token, secrets) {
      const found = await findToken(store.sql, token, clock.now());
      if (found?.purpose !== 'choose secrets') throw usedUp('link');
      const person = await personById(found.subjectId, 'token');
      const hashes = await checkedHashes(person, secrets);
      const registration = await registrationAt(request);
      return store.transaction(
        async (transaction) => {
          if ((await useToken(transaction.sql, token, clock.now())) === null) throw usedUp('link');
          await keepSecrets(transaction, person.id, hashes);
          return startSession(transaction, request, person.id, registration, 'link', address);
        },
        [NO_STREAM],
      );
    },

    async makeFirstAdministrator(request, address, token, { id, name }, secrets) {
      const found = await findToken(store.sql, token, clock.now());
      if (found?.purpose !== 'first administrator') throw usedUp('link');
      const there = (await store.plantModel()).people.find((person) => person.id === id);
      if (there !== undefined && there.role !== 'administrator') {
        throw conflict('person.id', `"${id}" is a person with another role; choose another short name.`);
      }
      if (secrets.password === undefined)
        throw unacceptable('password', 'is missing; an administrator needs one.');
      const hashes = await checkedHashes({ id, name }, secrets);
      if ((await store.transaction(({ sql }) => useToken(sql, token, clock.now()), [NO_STREAM])) === null)
        throw usedUp('link');
      if (there === undefined) {
        const record = { id, name, role: 'administrator' } as const;
        const by = { personId: id, door: 'page', how: 'session' } as const;
        await monitoring.savePlantRecord({ kind: 'people', record }, 'The first administrator', by);
      }
      return store.transaction(
        async (transaction) => {
          await keepSecrets(transaction, id, hashes);
          return startSession(transaction, request, id, null, 'link', address);
        },
        [NO_STREAM],
      );
    },

    async firstStart() {
      const { people } = await store.plantModel();
      for (const { id, role } of people) {
        if (role !== 'administrator') continue;
        if ((await account(store.sql, id))?.passwordHash != null) return null;
      }
      const token = newToken();
      const purpose = { purpose: 'first administrator', subjectId: '', madeBy: null } as const;
      await store.transaction(
        ({ sql }) => keepToken(sql, token, purpose, clock.now() + LINK_LASTS),
        [NO_STREAM],
      );
      return token;
    },
  };
}

const isPerson = ({ people }: PlantModel, personId: string): boolean =>
  people.some(({ id }) => id === personId);

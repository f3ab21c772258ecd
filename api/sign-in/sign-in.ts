/** Signing in and out, choosing secrets, registering stations: everything that writes to the tables of accounts. */
import { randomUUID } from 'node:crypto';
import type { Clock } from '../clock.ts';
import type { Monitoring } from '../monitoring/monitoring.ts';
import { conflict, ProblemError, unacceptable, unknown } from '../problem.ts';
import type { Person, Secrets, SignInSubmission } from '../schemas.ts';
import type { Sealing } from '../sealing.ts';
import type { Sql } from '../store/sql.ts';
import { type AuditNote, NO_STREAM, type Store, type StoreTransaction } from '../store/store.ts';
import { countFailure, forgetAttempts, ofAddress, refuseWhileWaiting } from './attempts.ts';
import { clearCookie, cookieOf, setCookie } from './cookies.ts';
import { deviceInWords } from './device-in-words.ts';
import {
  dropTokensFor,
  findToken,
  isOpen,
  keepToken,
  LINK_LASTS,
  type OneTimeToken,
  useToken,
} from './one-time-tokens.ts';
import { createProve } from './prove.ts';
import {
  type ListedRegistration,
  type Registration,
  registerStation,
  registrationOf,
  registrations,
  withdrawRegistration,
} from './registered-stations.ts';
import { createSecondFactor, dropSecondFactor, type SecondFactor } from './second-factor.ts';
import { checkPassword, checkPin, hashOf, matches } from './secrets.ts';
import {
  beginSession,
  endOneOf,
  endSession,
  endSessionsAt,
  endSessionsOf,
  type ListedSession,
  LONGEST_SESSION,
  type Proven,
  type Session,
  sessionOf,
  sessionsOf,
} from './sessions.ts';
import { newCode, newToken, tidyCode } from './tokens.ts';

const MINUTE = 60_000;
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
  readonly hasSecondFactor: boolean;
}

interface StoredAccount {
  readonly passwordHash: string | null;
  readonly pinHash: string | null;
}

export interface SignIn {
  readonly secondFactor: SecondFactor;
  /** `used`: the request is something that a person did. */
  visitor(request: Request, used: boolean): Promise<Visitor>;
  /** Gives the cookies of the new session. */
  begin(request: Request, address: string, submission: SignInSubmission): Promise<readonly string[]>;
  /** The same where the provider has proven who it is, at a moment that may be a while ago. */
  beginByProvider(
    request: Request,
    address: string,
    personId: string,
    provenAt: number,
  ): Promise<readonly string[]>;
  end(request: Request): Promise<readonly string[]>;
  endEverywhere(person: Person): Promise<void>;
  /** Where a person is signed in. */
  sessions(request: Request, person: Person): Promise<readonly ListedSession[]>;
  endOne(person: Person, id: string): Promise<void>;
  /** Refuses whoever found somebody else's session open. */
  proveAgain(request: Request, address: string, person: Person, current: string): Promise<void>;
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
    code: string | undefined,
  ): Promise<readonly string[]>;
  makeFirstAdministrator(
    request: Request,
    address: string,
    token: string,
    person: Pick<Person, 'id' | 'name'>,
    secrets: Secrets,
  ): Promise<readonly string[]>;
  /** A token for the link that makes the first administrator; null where one can sign in, or has a link to. */
  firstStart(): Promise<string | null>;
}

/** It came from an administrator by another way, and works once. */
const byLink: Proven = { way: 'link', limited: false };

/** The same words for an unknown person, one without this secret, and a wrong one. */
const notSignedIn = (way: 'pin' | 'password'): ProblemError => {
  const secret = way === 'pin' ? 'PIN' : 'password';
  const message = `Name and ${secret} do not belong together. Look at both and try again.`;
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
  sealing,
}: {
  readonly store: Store;
  readonly monitoring: Pick<Monitoring, 'savePlantRecord'>;
  readonly clock: Clock;
  readonly sealing: Sealing;
}): SignIn {
  const prove = createProve({ store, clock });
  const secondFactor = createSecondFactor({ store, clock, sealing, prove });

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

  const proveSecret = (
    personId: string,
    secret: string,
    way: 'pin' | 'password',
    address: string,
  ): Promise<boolean> =>
    prove(personId, way, address, async () => {
      const stored = await account(store.sql, personId);
      return matches((way === 'pin' ? stored?.pinHash : stored?.passwordHash) ?? null, secret);
    });

  /** Away from the stations a password needs a second thing beside it; at a station the browser is one. */
  async function besidePassword(
    personId: string,
    code: string | undefined,
    address: string,
    registration: Registration | null,
  ): Promise<Proven> {
    if (registration !== null) return { way: 'password', limited: false };
    const given = await secondFactor.requireCode(personId, code, address);
    if (given !== null) return { way: `password and ${given}`, limited: false };
    return { way: 'password', limited: await secondFactor.isAskedOf(personId) };
  }

  async function startSession(
    transaction: StoreTransaction,
    request: Request,
    personId: string,
    registration: Registration | null,
    proven: Proven & { readonly provenAt?: number },
    address: string,
  ): Promise<readonly string[]> {
    // One browser has one session: what was there before is over.
    const earlier = cookieOf(request, 'session');
    if (earlier !== null) await endSession(transaction.sql, earlier, clock.now());
    const device = deviceInWords(request.headers.get('User-Agent'));
    const session = { personId, registrationId: registration?.id ?? null, device, ...proven };
    const token = await beginSession(transaction.sql, session, clock.now());
    await note(transaction, personId, 'signed in', personId, {
      way: proven.way,
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

  async function visitor(request: Request, used: boolean): Promise<Visitor> {
    const registration = await registrationAt(request);
    const token = cookieOf(request, 'session');
    const session =
      token === null ? null : await sessionOf(store, token, registration?.id ?? null, used, clock.now());
    return { session, registration };
  }

  async function proveAgain(
    request: Request,
    address: string,
    person: Person,
    current: string,
  ): Promise<void> {
    const registration = await registrationAt(request);
    const stored = await account(store.sql, person.id);
    // Whoever has no password yet proves with the PIN, where PINs count.
    const way = stored?.passwordHash == null && registration !== null ? 'pin' : 'password';
    if (await proveSecret(person.id, current, way, address)) return;
    throw unacceptable('current', `is not your ${way === 'pin' ? 'PIN' : 'password'}; nothing was changed.`);
  }

  return {
    secondFactor,
    visitor,
    proveAgain,

    async begin(request, address, { personId, password, pin, code }) {
      const registration = await registrationAt(request);
      if (pin !== undefined && registration === null) {
        throw unacceptable('pin', 'works only at a registered station; sign in with your password here.');
      }
      const way = pin === undefined ? 'password' : 'pin';
      if (!(await proveSecret(personId, pin ?? password ?? '', way, address))) throw notSignedIn(way);
      const proven: Proven =
        way === 'pin' ? { way, limited: false } : await besidePassword(personId, code, address, registration);
      return store.transaction(
        (transaction) => startSession(transaction, request, personId, registration, proven, address),
        [NO_STREAM],
      );
    },

    async beginByProvider(request, address, personId, provenAt) {
      const registration = await registrationAt(request);
      const proven = { way: 'provider', limited: false, provenAt } as const;
      return store.transaction(
        (transaction) => startSession(transaction, request, personId, registration, proven, address),
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

    sessions: (request, person) =>
      sessionsOf(store.sql, person.id, cookieOf(request, 'session'), clock.now()),

    endOne: (person, id) =>
      store.transaction(
        async (transaction) => {
          if (!(await endOneOf(transaction.sql, person.id, id, clock.now())))
            throw unknown('session', id, 'id');
          await note(transaction, person.id, 'signed out elsewhere', person.id);
        },
        [NO_STREAM],
      ),

    async confirm(request, address, { personId, secret }) {
      const atStation = (await registrationAt(request)) !== null;
      const way = atStation && /^\d{4,8}$/.test(secret) ? 'pin' : 'password';
      if (await proveSecret(personId, secret, way, address)) return;
      const message = atStation
        ? 'Name and PIN or password of the second person do not belong together.'
        : 'Name and password of the second person do not belong together; a PIN works only at a registered station.';
      throw new ProblemError(403, 'Second signature not accepted', message, [
        { field: 'secondSignature.secret', message },
      ]);
    },

    async changeOwn(request, address, person, current, secrets) {
      const hashes = await checkedHashes(person, secrets);
      await proveAgain(request, address, person, current);
      const { session, registration } = await visitor(request, true);
      const proven: Proven = {
        way: session?.way ?? 'password',
        limited: session?.limited ?? false,
      };
      return store.transaction(
        async (transaction) => {
          await keepSecrets(transaction, person.id, hashes);
          return startSession(transaction, request, person.id, registration, proven, address);
        },
        [NO_STREAM],
      );
    },

    async accounts() {
      const rows = await store.sql.all<
        Record<'hasPassword' | 'hasPin' | 'hasSecondFactor', number> & { personId: string }
      >(
        `select accounts.person_id as "personId", case when password_hash is null then 0 else 1 end as "hasPassword",
           case when pin_hash is null then 0 else 1 end as "hasPin",
           case when second_factors.secret is null then 0 else 1 end as "hasSecondFactor"
         from accounts left join second_factors on second_factors.person_id = accounts.person_id
         order by accounts.person_id`,
      );
      return rows.map(({ personId, hasPassword, hasPin, hasSecondFactor }) => ({
        personId,
        hasPassword: hasPassword === 1,
        hasPin: hasPin === 1,
        hasSecondFactor: hasSecondFactor === 1,
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
          await dropSecondFactor(sql, personId);
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

    async chooseSecrets(request, address, token, secrets, code) {
      const found = await findToken(store.sql, token, clock.now());
      if (found?.purpose !== 'choose secrets') throw usedUp('link');
      const person = await personById(found.subjectId, 'token');
      const hashes = await checkedHashes(person, secrets);
      // A link makes up for a forgotten password, not for a lost authenticator.
      await secondFactor.requireCode(person.id, code, address);
      const registration = await registrationAt(request);
      return store.transaction(
        async (transaction) => {
          if ((await useToken(transaction.sql, token, clock.now())) === null) throw usedUp('link');
          await keepSecrets(transaction, person.id, hashes);
          return startSession(transaction, request, person.id, registration, byLink, address);
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
          return startSession(transaction, request, id, null, byLink, address);
        },
        [NO_STREAM],
      );
    },

    async firstStart() {
      const { people } = await store.plantModel();
      for (const { id, role } of people) {
        if (role !== 'administrator') continue;
        if ((await account(store.sql, id))?.passwordHash != null) return null;
        // Somebody at the console has made one for them; the password comes with its use.
        if (await isOpen(store.sql, { purpose: 'choose secrets', subjectId: id }, clock.now())) return null;
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

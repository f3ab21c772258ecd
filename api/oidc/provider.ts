/** Signing in by an OpenID Connect provider: authorization code with PKCE, state and nonce, ending in the usual session. */
import * as openid from 'openid-client';
import type { Logger } from 'pino';
import type { Clock } from '../clock.ts';
import type { Monitoring } from '../monitoring/monitoring.ts';
import { conflict, ProblemError, unknown } from '../problem.ts';
import type { Identity, Person, Role } from '../schemas.ts';
import type { SignIn } from '../sign-in/sign-in.ts';
import { digestOf, newToken } from '../sign-in/tokens.ts';
import { NO_STREAM, type Store } from '../store/store.ts';
import { allIdentities, announce, bind, identityById, identityPayload, meet } from './identities.ts';
import type { ProviderSettings } from './settings.ts';

/** Time to sign in at the provider, in milliseconds. */
export const VISIT_LASTS = 10 * 60_000;

export interface Provider {
  readonly name: string;
  /** Where to send the browser, and what it has to bring back. */
  begin(): Promise<{ readonly address: URL; readonly token: string }>;
  /** Gives the cookies of the new session. `query`: what the provider sent the browser back with. */
  finish(
    request: Request,
    clientAddress: string,
    token: string | null,
    query: string,
  ): Promise<readonly string[]>;
  identities(): Promise<Identity[]>;
  announce(email: string, personId: string, by: Person): Promise<Identity>;
  /** null unbinds, and ends every session of the person. */
  bind(id: string, personId: string | null, by: Person): Promise<Identity>;
}

interface Visit {
  readonly state: string;
  readonly nonce: string;
  readonly verifier: string;
}

const refused = (message: string): ProblemError =>
  new ProblemError(403, 'Not signed in', message, [{ field: 'provider', message }]);

/** Why an answer was not taken, for the log: the words of each cause; the values stay out. */
function reasonOf(error: unknown): string {
  const words: string[] = [];
  let cause = error;
  while (cause instanceof Error) {
    words.push(cause.message);
    cause = cause.cause;
  }
  return words.join(': ');
}

const textOf = (value: unknown): string | null => (typeof value === 'string' && value !== '' ? value : null);

export function createProvider({
  settings,
  signIn,
  store,
  monitoring,
  clock,
  log,
}: {
  readonly settings: ProviderSettings;
  readonly signIn: SignIn;
  readonly store: Store;
  readonly monitoring: Pick<Monitoring, 'savePlantRecord'>;
  readonly clock: Clock;
  readonly log: Logger;
}): Provider {
  const { issuer, clientId, clientSecret, name, redirectUri, roles, acr, amr, maxAge } = settings;
  let discovered: Promise<openid.Configuration> | null = null;

  /** Asked for when it is first needed, and again where that failed: the provider may start after this server. */
  function configuration(): Promise<openid.Configuration> {
    const execute = [openid.enableNonRepudiationChecks];
    // Only ever on loopback: any other issuer is an https address.
    if (issuer.protocol === 'http:') execute.push(openid.allowInsecureRequests);
    discovered ??= openid
      .discovery(
        issuer,
        clientId,
        undefined,
        clientSecret === null ? openid.None() : openid.ClientSecretBasic(clientSecret),
        { execute, timeout: 10 },
      )
      .catch((error: unknown) => {
        discovered = null;
        log.warn({ err: error }, 'the sign-in provider could not be asked');
        const message = `${name} does not answer; sign in with your password, or try again later.`;
        throw new ProblemError(503, 'Provider not there', message, [{ field: 'provider', message }]);
      });
    return discovered;
  }

  /** Works once: a second request with the same cookie finds nothing. */
  const takeVisit = (token: string): Promise<Visit | null> =>
    store.transaction(
      ({ sql }) =>
        sql.one<Visit>(
          'delete from provider_visits where token_digest = ? and expires_at > ? returning state, nonce, verifier',
          digestOf(token),
          clock.now(),
        ),
      [NO_STREAM],
    );

  /** By the signed ID token alone (OpenID Connect Core 1.0 section 2; values of amr in RFC 8176). */
  function requireStrength(claims: openid.IDToken): void {
    const ways = Array.isArray(claims.amr) ? claims.amr : [];
    const strong =
      (acr.length === 0 || acr.includes(textOf(claims.acr) ?? '')) &&
      (amr.length === 0 || amr.some((way) => ways.includes(way)));
    if (strong) return;
    log.info({ acr: claims.acr, amr: ways }, 'a sign-in by the provider was not strong enough');
    throw refused(
      `${name} did not prove you strongly enough for this plant. Sign in there with a second factor, then here again.`,
    );
  }

  /** What the provider vouches for, checked: signature, issuer, audience, time, nonce. */
  async function claimsOf(visit: Visit, query: string): Promise<Record<string, unknown>> {
    const config = await configuration();
    try {
      const tokens = await openid.authorizationCodeGrant(config, new URL(query, redirectUri), {
        expectedState: visit.state,
        expectedNonce: visit.nonce,
        pkceCodeVerifier: visit.verifier,
        idTokenExpected: true,
        ...(maxAge !== null && { maxAge }),
      });
      const claims = tokens.claims()!;
      requireStrength(claims);
      const more =
        config.serverMetadata().userinfo_endpoint === undefined
          ? {}
          : await openid.fetchUserInfo(config, tokens.access_token, claims.sub);
      return { ...more, ...claims };
    } catch (error) {
      if (error instanceof ProblemError) throw error;
      if (error instanceof openid.AuthorizationResponseError && error.error === 'access_denied')
        throw refused(
          `${name} did not let you through, or you cancelled. Try again, or sign in another way.`,
        );
      log.warn({ reason: reasonOf(error) }, 'a sign-in by the provider was refused');
      throw refused(`What came back from ${name} could not be verified. Begin again at the sign-in page.`);
    }
  }

  function roleFrom(claims: Record<string, unknown>): Role | null {
    if (roles === null) return null;
    const given = claims[roles.claim];
    const values = Array.isArray(given) ? given : [given];
    const found = roles.byValue.find(([value]) => values.includes(value));
    if (found === undefined)
      throw refused(`${name} gives you no role in Runtrue; ask whoever looks after the accounts there.`);
    return found[1];
  }

  const personById = async (id: string, field: string): Promise<Person> => {
    const person = (await store.plantModel()).people.find((one) => one.id === id);
    if (person === undefined) throw unknown('person', id, field);
    return person;
  };

  return {
    name,

    async begin() {
      const config = await configuration();
      const token = newToken();
      const [state, nonce, verifier] = [
        openid.randomState(),
        openid.randomNonce(),
        openid.randomPKCECodeVerifier(),
      ];
      await store.transaction(
        async ({ sql }) => {
          await sql.run('delete from provider_visits where expires_at <= ?', clock.now());
          await sql.run(
            'insert into provider_visits (token_digest, state, nonce, verifier, expires_at) values (?, ?, ?, ?, ?)',
            digestOf(token),
            state,
            nonce,
            verifier,
            clock.now() + VISIT_LASTS,
          );
        },
        [NO_STREAM],
      );
      const address = openid.buildAuthorizationUrl(config, {
        redirect_uri: redirectUri,
        scope: `openid ${settings.scopes}`,
        code_challenge: await openid.calculatePKCECodeChallenge(verifier),
        code_challenge_method: 'S256',
        state,
        nonce,
        ...(acr.length > 0 && { acr_values: acr.join(' ') }),
        ...(maxAge !== null && { max_age: String(maxAge) }),
      });
      return { address, token };
    },

    async finish(request, clientAddress, token, query) {
      const visit = token === null ? null : await takeVisit(token);
      if (visit === null)
        throw refused(
          'This sign-in was not begun here, took too long, or is over. Begin again at the sign-in page.',
        );
      const claims = await claimsOf(visit, query);
      const identity = await store.transaction(
        ({ sql }) =>
          meet(
            sql,
            {
              issuer: issuer.href,
              subject: String(claims.sub),
              email: claims.email_verified === true ? textOf(claims.email) : null,
              name: textOf(claims.name),
            },
            clock.now(),
          ),
        [NO_STREAM],
      );
      const { people } = await store.plantModel();
      const person = people.find(({ id }) => id === identity.personId);
      if (person === undefined)
        throw refused(
          `${name} knows you, but nobody has said yet who you are in this plant. Ask an administrator to bind your account; then sign in again.`,
        );
      const role = roleFrom(claims);
      if (role !== null && role !== person.role) {
        await monitoring.savePlantRecord(
          { kind: 'people', record: { ...person, role } },
          `The role as ${name} gives it`,
          { personId: person.id, door: 'api', how: 'session' },
        );
      }
      // So that a session here does not outlast what was proven there.
      const provenAt = maxAge === null ? clock.now() : Number(claims.auth_time) * 1000;
      return signIn.beginByProvider(request, clientAddress, person.id, provenAt);
    },

    async identities() {
      return (await allIdentities(store.sql, issuer.href)).map(identityPayload);
    },

    async announce(email, personId, by) {
      await personById(personId, 'personId');
      return store.transaction(
        async (transaction) => {
          const { sql } = transaction;
          const others = await allIdentities(sql, issuer.href);
          if (others.some((one) => one.email === email.toLowerCase()))
            throw conflict('email', 'This address is in the list already; bind it there.');
          const at = clock.now();
          const row = await announce(sql, { issuer: issuer.href, email, personId, by: by.id, at });
          await transaction.addNote({
            at,
            personId: by.id,
            what: 'identity bound',
            about: personId,
            detail: { email },
          });
          return identityPayload(row);
        },
        [NO_STREAM],
      );
    },

    async bind(id, personId, by) {
      if (personId !== null) await personById(personId, 'personId');
      const before = await identityById(store.sql, id);
      if (before === null) throw unknown('identity', id, 'id');
      const row = await store.transaction(
        async (transaction) => {
          const at = clock.now();
          await bind(transaction.sql, id, personId, by.id, at);
          await transaction.addNote({
            at,
            personId: by.id,
            what: personId === null ? 'identity unbound' : 'identity bound',
            about: personId ?? before.personId ?? '',
            detail: { id, email: before.email },
          });
          return identityById(transaction.sql, id);
        },
        [NO_STREAM],
      );
      if (before.personId !== null && before.personId !== personId)
        await signIn.endEverywhere(await personById(before.personId, 'id'));
      return identityPayload(row!);
    },
  };
}

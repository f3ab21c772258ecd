import type { AppParts } from '../app-parts.ts';
import type { Handle } from '../http/handle.ts';
import { isoTime } from '../monitoring/payloads.ts';
import { type Action, permissions } from '../permissions.ts';
import { conflict, ProblemError, unknown } from '../problem.ts';
import type { Person, Session } from '../schemas.ts';
import { type Acting, nobodyActs } from '../who.ts';
import { cookieOf } from './cookies.ts';
import { requireOwnPage } from './same-origin.ts';
import { sessionMay } from './session-may.ts';
import type { SignIn } from './sign-in.ts';

/** Without sign-in there is nothing to sign in to. */
function off(): never {
  const message = 'This server runs without sign-in; choose who is here on the page.';
  throw new ProblemError(404, 'No sign-in here', message, [{ field: 'path', message }]);
}

function personOf(acting: Acting | null, request: Request): Person {
  if (acting?.person == null) throw nobodyActs(request.headers, acting?.how ?? 'session');
  return acting.person;
}

const actions = Object.keys(permissions) as Action[];

export function signInRoutes(handle: Handle, { signIn: service, store }: AppParts): void {
  const signIn = (): SignIn => service ?? off();

  handle('GET /api/session', async ({ request }): Promise<Session> => {
    if (service === null)
      return { signIn: 'off', person: null, stationId: null, endsAt: null, may: [], limited: false };
    const { session, registration } = await service.visitor(request, false);
    const { people } = await store.plantModel();
    const person = people.find(({ id }) => id === session?.personId) ?? null;
    const limited = session?.limited ?? false;
    const mayBy = (action: Action): boolean =>
      person === null
        ? action === 'come in' || (action === 'read' && registration !== null)
        : sessionMay({ limited }, person.role, action);
    return {
      signIn: 'on',
      person,
      stationId: registration?.stationId ?? null,
      endsAt: session === null || person === null ? null : isoTime(session.endsAt),
      may: actions.filter(mayBy),
      limited: person !== null && limited,
    };
  });

  // What needs nobody signed in must come from the page as well: nobody is signed in or out by another site.
  handle('POST /api/session', async ({ request, address, body, answerHeaders }) => {
    const service = signIn();
    requireOwnPage(request);
    return withCookies(answerHeaders, await service.begin(request, address, body));
  });

  handle('DELETE /api/session', async ({ request, answerHeaders }) => {
    const service = signIn();
    requireOwnPage(request);
    forget(answerHeaders);
    return withCookies(answerHeaders, await service.end(request));
  });

  // Finding out who acts has noted it already.
  handle('POST /api/session/use', ({ acting, request }) => {
    signIn();
    personOf(acting, request);
    return done;
  });

  handle('DELETE /api/session/everywhere', async ({ acting, request, answerHeaders }) => {
    await signIn().endEverywhere(personOf(acting, request));
    forget(answerHeaders);
    return withCookies(answerHeaders, await signIn().end(request));
  });

  handle('PUT /api/session/secrets', async ({ acting, request, address, body, answerHeaders }) => {
    const { current, ...secrets } = body;
    const person = personOf(acting, request);
    return withCookies(answerHeaders, await signIn().changeOwn(request, address, person, current, secrets));
  });

  handle('GET /api/sessions', async ({ acting, request }) =>
    (await signIn().sessions(request, personOf(acting, request))).map((one) => ({
      ...one,
      beganAt: isoTime(one.beganAt),
      lastUsedAt: isoTime(one.lastUsedAt),
      endsAt: isoTime(one.endsAt),
    })),
  );

  handle('DELETE /api/sessions/{id}', async ({ acting, request, params }) => {
    await signIn().endOne(personOf(acting, request), params.id);
    return done;
  });

  handle('GET /api/second-factor', ({ acting, request }) =>
    signIn().secondFactor.stateOf(personOf(acting, request).id),
  );

  handle('POST /api/second-factor', async ({ acting, request, address, body }) => {
    const service = signIn();
    const person = personOf(acting, request);
    await service.proveAgain(request, address, person, body.current);
    return service.secondFactor.begin(person);
  });

  handle('PUT /api/second-factor', async ({ acting, request, address, body }) => {
    const service = signIn();
    const person = personOf(acting, request);
    const token = cookieOf(request, 'session') ?? '';
    await service.secondFactor.finish(person, body.code, address, token);
    return done;
  });

  handle('GET /api/second-factor/roles', async () => ({
    roles: [...(await signIn().secondFactor.roles())],
  }));

  handle('PUT /api/second-factor/roles', async ({ acting, request, body }) => {
    await signIn().secondFactor.setRoles([...new Set(body.roles)], personOf(acting, request));
    return done;
  });

  handle('DELETE /api/accounts/{id}/second-factor', async ({ acting, request, params: { id } }) => {
    const by = personOf(acting, request);
    const { people } = await store.plantModel();
    if (!people.some((person) => person.id === id)) throw unknown('person', id, 'id');
    if (id === by.id)
      throw conflict(
        'id',
        'Nobody resets their own second factor; set it up anew, or ask another administrator.',
      );
    await signIn().secondFactor.reset(id, by);
    return done;
  });

  handle('POST /api/one-time-links/look', async ({ body }) => {
    const { purpose, subjectId } = await signIn().lookAtLink(body.token);
    const { people } = await store.plantModel();
    return {
      needsCode: await signIn().secondFactor.isOn(subjectId),
      purpose: purpose === 'first administrator' ? purpose : ('choose secrets' as const),
      person: people.find(({ id }) => id === subjectId) ?? null,
    };
  });

  handle('POST /api/one-time-links/secrets', async ({ request, address, body, answerHeaders }) => {
    const service = signIn();
    requireOwnPage(request);
    const { token, code, ...secrets } = body;
    return withCookies(answerHeaders, await service.chooseSecrets(request, address, token, secrets, code));
  });

  handle(
    'POST /api/one-time-links/first-administrator',
    async ({ request, address, body, answerHeaders }) => {
      const service = signIn();
      requireOwnPage(request);
      const { token, person, ...secrets } = body;
      const cookies = await service.makeFirstAdministrator(request, address, token, person, secrets);
      return withCookies(answerHeaders, cookies);
    },
  );

  handle('GET /api/accounts', async () => [...(await signIn().accounts())]);

  handle('POST /api/accounts/{id}/link', async ({ params, acting, request }) => {
    const { token, expiresAt } = await signIn().newLink(params.id, personOf(acting, request));
    return { secret: token, expiresAt: isoTime(expiresAt) };
  });

  handle('DELETE /api/accounts/{id}', async ({ params, acting, request }) => {
    await signIn().close(params.id, personOf(acting, request));
    return done;
  });

  handle('POST /api/stations/{id}/registration-code', async ({ params, acting, request }) => {
    const { code, expiresAt } = await signIn().newStationCode(params.id, personOf(acting, request));
    return { secret: code, expiresAt: isoTime(expiresAt) };
  });

  handle('POST /api/registered-stations', async ({ request, address, body, answerHeaders }) => {
    const service = signIn();
    requireOwnPage(request);
    return withCookies(answerHeaders, await service.registerStation(request, address, body.code));
  });

  handle('GET /api/registered-stations', async () =>
    (await signIn().registrations()).map((one) => ({ ...one, registeredAt: isoTime(one.registeredAt) })),
  );

  handle('DELETE /api/registered-stations/{id}', async ({ params, acting, request }) => {
    await signIn().withdrawRegistration(params.id, personOf(acting, request));
    return done;
  });
}

const done = { ok: true } as const;

/**
 * Has the browser forget what it keeps of this server, but not its storage: samples wait there that are not stored yet,
 * and nothing may be lost. Browsers heed it over https only, and on the machine itself.
 */
function forget(headers: Headers): void {
  headers.set('Clear-Site-Data', '"cache"');
}

function withCookies(headers: Headers, cookies: readonly string[]): { readonly ok: true } {
  for (const cookie of cookies) headers.append('Set-Cookie', cookie);
  return done;
}

import { deleteCookie, getCookie, setCookie } from 'hono/cookie';
import { html } from 'hono/html';
import type { AppParts } from '../app-parts.ts';
import type { App, Handle } from '../http/handle.ts';
import { ProblemError } from '../problem.ts';
import type { Person } from '../schemas.ts';
import { type Acting, nobodyActs } from '../who.ts';
import { type Provider, VISIT_LASTS } from './provider.ts';
import { CALLBACK_PATH } from './settings.ts';

const COOKIE = 'runtrue-provider-visit';

function personOf(acting: Acting | null, request: Request): Person {
  if (acting?.person == null) throw nobodyActs(request.headers, acting?.how ?? 'session');
  return acting.person;
}

/** A browser came here by itself, so the person in front of it reads the refusal. */
const refusalPage = (detail: string) => html`<!doctype html>
  <html lang="en">
    <head><meta charset="utf-8" /><meta name="viewport" content="width=device-width" /><title>Not signed in – Runtrue</title></head>
    <body><main><h1>Not signed in</h1><p>${detail}</p><p><a href="/sign-in">To the sign-in page</a></p></main></body>
  </html>`;

export function providerRoutes(app: App, handle: Handle, { provider, outside }: AppParts): void {
  const there = (): Provider => {
    if (provider !== null) return provider;
    const message = 'This server has no sign-in provider; its administrator can set OIDC_ISSUER.';
    throw new ProblemError(404, 'No sign-in provider', message, [{ field: 'path', message }]);
  };

  handle('GET /api/sign-in/provider', () => ({ name: provider?.name ?? null }));
  handle('GET /api/identities', () => there().identities());
  handle('POST /api/identities', ({ body, acting, request }) =>
    there().announce(body.email, body.personId, personOf(acting, request)),
  );
  handle('PUT /api/identities/{id}', ({ params, body, acting, request }) =>
    there().bind(params.id, body.personId, personOf(acting, request)),
  );

  // By hand: a browser is sent from one to the other. Lax, for it comes back from another site.
  const cookie = {
    path: CALLBACK_PATH,
    httpOnly: true,
    sameSite: 'Lax',
    secure: outside.address?.protocol === 'https:',
    maxAge: VISIT_LASTS / 1000,
  } as const;

  app.get('/api/sign-in/provider/begin', async (context) => {
    const { address, token } = await there().begin();
    setCookie(context, COOKIE, token, cookie);
    return context.redirect(address.href, 303);
  });

  app.get(CALLBACK_PATH, async (context) => {
    const token = getCookie(context, COOKIE) ?? null;
    deleteCookie(context, COOKIE, cookie);
    try {
      const request = comingHome(context.req.raw, outside.address);
      const { search } = new URL(context.req.url);
      const cookies = await there().finish(request, context.get('client').address, token, search);
      for (const one of cookies) context.header('Set-Cookie', one, { append: true });
      return context.redirect('/', 303);
    } catch (error) {
      if (!(error instanceof ProblemError) || !context.req.header('accept')?.includes('text/html'))
        throw error;
      return context.html(refusalPage(error.problem.detail), error.problem.status as 403);
    }
  });
}

/** The browser comes from the provider and names no Origin; what it came to is the address from outside. */
function comingHome(request: Request, address: URL | null): Request {
  const headers = new Headers({ Origin: address?.origin ?? new URL(request.url).origin });
  const cookie = request.headers.get('cookie');
  if (cookie !== null) headers.set('Cookie', cookie);
  return new Request(request.url, { headers });
}

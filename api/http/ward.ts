import type { MiddlewareHandler } from 'hono';
import { contract } from '../contract.ts';
import { clientOf } from './client.ts';
import type { AppEnvironment } from './handle.ts';
import { hostCheck } from './host-check.ts';
import type { Outside } from './outside.ts';
import type { RateLimiters } from './rate-limits.ts';
import { setSecurityHeaders } from './security-headers.ts';

/** Finds out who sent a request and sets on its answer what browsers are to refuse; answers to known names only. */
export function ward(outside: Outside): MiddlewareHandler<AppEnvironment>[] {
  const checkHost = hostCheck(outside);
  return [
    async (context, next) => {
      const peer = context.env?.incoming?.socket.remoteAddress;
      const client = clientOf(peer, context.req.raw.headers, outside);
      context.set('client', client);
      await next();
      setSecurityHeaders(context.res.headers, client.https);
    },
    async (context, next) => {
      checkHost(context.req.raw);
      await next();
    },
  ];
}

/** Addresses where anybody may come and prove who they are. */
const proving: ReadonlySet<string> = new Set(
  Object.entries(contract)
    .filter(([key, { action }]) => action === 'come in' && !key.startsWith('GET '))
    .map(([key]) => key),
);

/** Slows down whoever tries to come in too often. */
export const slowDown =
  (limiters: RateLimiters): MiddlewareHandler<AppEnvironment> =>
  async (context, next) => {
    const { address } = context.get('client');
    const { method, path } = context.req;
    // The two addresses of the provider stand beside the contract.
    const proves = proving.has(`${method} ${path}`) || path.startsWith('/api/sign-in/provider/');
    if (proves) await limiters.signIn(address);
    const withKey = /^bearer\b/i.test(context.req.header('authorization') ?? '');
    if (withKey) await limiters.mayTryKey(address);
    await next();
    if (withKey && context.res.status === 401) await limiters.keyWasRefused(address);
  };

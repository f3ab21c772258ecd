import type { MiddlewareHandler } from 'hono';
import { routePath } from 'hono/route';
import { type App, type AppEnvironment, readQuery } from '../http/handle.ts';
import type { Admit } from '../who.ts';
import type { Metrics } from './metrics.ts';

const loopback = /^(?:127\.\d+\.\d+\.\d+|::1|in process)$/;
/** What a proxy adds: the client behind it is not on this machine, whatever the socket says. */
const forwarding = ['forwarded', 'x-forwarded-for', 'via'];

/** `/api/samples/{id}` of whatever answered; "page" for files of the page, "none" where there is nothing. */
function routeOf(matched: string, status: number): string {
  if (!matched.includes('*')) return matched.replace(/:(\w+)/g, '{$1}');
  return status === 404 ? 'none' : 'page';
}

/** Counts and times every answer. */
export const measured =
  (metrics: Metrics): MiddlewareHandler<AppEnvironment> =>
  async (context, next) => {
    const began = performance.now();
    await next();
    const { status } = context.res;
    const route = routeOf(routePath(context), status);
    metrics.answered({
      method: context.req.method,
      route,
      status,
      seconds: (performance.now() - began) / 1000,
    });
  };

/** GET /metrics, in the format of OpenMetrics: for this machine, or with a key that may. */
export function metricsRoutes(app: App, admit: Admit, metrics: Metrics): void {
  app.get('/metrics', async (context) => {
    const { headers } = context.req.raw;
    const isHere =
      loopback.test(context.get('client').address) && !forwarding.some((name) => headers.has(name));
    if (!isHere) await admit(context.req.raw, 'read metrics');
    readQuery(context, []);
    return new Response(await metrics.text(), {
      headers: { 'Content-Type': metrics.contentType, 'Cache-Control': 'no-store' },
    });
  });
}

import { randomUUID } from 'node:crypto';
import type { MiddlewareHandler } from 'hono';
import { routePath } from 'hono/route';
import type { Logger } from 'pino';
import type { AppEnvironment } from '../http/handle.ts';
import { inSpan } from '../tracing/span.ts';

const REQUEST_ID_HEADER = 'X-Request-Id';

const givenId = /^[\w.:-]{1,64}$/;
/** W3C Trace Context: version, trace, parent, flags; none of the first two all zeros. */
const traceParent = /^(?!ff)[\da-f]{2}-(?!0{32})([\da-f]{32})-(?!0{16})[\da-f]{16}-[\da-f]{2}/;

/** The id that the sender gave, else its trace, else a new one. */
export function requestIdOf(headers: Headers): string {
  const given = headers.get(REQUEST_ID_HEADER);
  if (given !== null && givenId.test(given)) return given;
  return traceParent.exec(headers.get('traceparent') ?? '')?.[1] ?? randomUUID();
}

/** Gives each request an id, sends it back, and tells of each answer in one line of the log and one span. */
export const requestLog =
  (log: Logger): MiddlewareHandler<AppEnvironment> =>
  async (context, next) => {
    const started = performance.now();
    const { headers } = context.req.raw;
    const requestId = requestIdOf(headers);
    context.set('requestId', requestId);
    const { method } = context.req;
    await inSpan(method, { parent: headers.get('traceparent'), isRequest: true }, async (span) => {
      await next();
      const route = routePath(context);
      const { status } = context.res;
      span.rename(`${method} ${route}`);
      span.set({ 'http.request.method': method, 'http.route': route, 'http.response.status_code': status });
      if (status >= 500) span.failed();
    });
    context.res.headers.set(REQUEST_ID_HEADER, requestId);
    const milliseconds = Math.round(performance.now() - started);
    const { path } = context.req;
    log.debug({ requestId, method, path, status: context.res.status, milliseconds }, 'request');
  };

import type { MiddlewareHandler } from 'hono';
import type { AppEnvironment } from './handle.ts';

/** Answers to HEAD are those to GET without their body: nobody will read it, so whatever would fill it lets go. */
export const answerHeadWithoutBody: MiddlewareHandler<AppEnvironment> = async (context, next) => {
  await next();
  if (context.req.method === 'HEAD') await context.res.body?.cancel();
};

import { Hono } from 'hono';
import { compress } from 'hono/compress';
import type { AppParts } from './app-parts.ts';
import { withCalculations } from './calculations/openapi-paths.ts';
import { docsPage, docsStyleHash } from './http/docs-page.ts';
import { type App, jsonAnswer, refuseOtherMethods, registrar } from './http/handle.ts';
import { answerHeadWithoutBody } from './http/head.ts';
import { openApiDocument } from './http/openapi.ts';
import { pageFiles } from './http/page-files.ts';
import { noSuchPath, refusal, wrongMethod } from './http/refusals.ts';
import { contentSecurityPolicy } from './http/security-headers.ts';
import { slowDown, ward } from './http/ward.ts';
import { requestLog } from './log/request-log.ts';
import { measured, metricsRoutes } from './metrics/routes.ts';
import { createEventStreams } from './notify/event-stream.ts';
import { providerRoutes } from './oidc/routes.ts';
import { alarmReportRoutes } from './routes/alarm-report.ts';
import { alarmRoutes } from './routes/alarms.ts';
import { backupRoutes } from './routes/backup.ts';
import { calculationRoutes } from './routes/calculations.ts';
import { concessionRoutes } from './routes/concessions.ts';
import { eventRoutes } from './routes/events.ts';
import { exportRoutes } from './routes/export.ts';
import { handoverRoutes } from './routes/handovers.ts';
import { healthRoutes } from './routes/health.ts';
import { importRoutes } from './routes/imports.ts';
import { keyRoutes } from './routes/keys.ts';
import { limitsRoutes } from './routes/limits.ts';
import { messageRoutes } from './routes/messages.ts';
import { missedSampleRoutes } from './routes/missed-samples.ts';
import { permissionRoutes } from './routes/permissions.ts';
import { plantRoutes } from './routes/plant.ts';
import { restartRoutes } from './routes/restarts.ts';
import { routingRoutes } from './routes/routing.ts';
import { sampleRoutes } from './routes/samples.ts';
import { workplaceRoutes } from './routes/workplaces.ts';
import { confirmSecond } from './sign-in/confirm-second.ts';
import { signInRoutes } from './sign-in/routes.ts';
import { stillAdmitted } from './sign-in/still-admitted.ts';
import { admitBy } from './who.ts';

/** The whole HTTP side of Runtrue: API, its description, and the page. */
export function createApp(parts: AppParts): App {
  const { feed, log, version, webFolder, stopping } = parts;
  const app: App = new Hono();
  app.onError(refusal(log));

  app.use(answerHeadWithoutBody);
  app.use(requestLog(log));
  app.use(measured(parts.metrics));
  app.use(...ward(parts.outside));
  app.use('/api/*', compress());
  app.use(slowDown(parts.limiters));

  const admit = admitBy(parts.identify);
  const handle = registrar(app, admit, confirmSecond(parts), parts.clock);
  healthRoutes(handle, parts);
  permissionRoutes(handle);
  signInRoutes(handle, parts);
  plantRoutes(handle, parts);
  sampleRoutes(handle, parts);
  missedSampleRoutes(handle, parts);
  limitsRoutes(handle, parts);
  eventRoutes(handle, parts);
  restartRoutes(handle, parts);
  alarmRoutes(handle, parts);
  alarmReportRoutes(app, handle, admit, parts);
  routingRoutes(handle, parts);
  messageRoutes(handle, parts);
  handoverRoutes(handle, parts);
  concessionRoutes(handle, parts);
  workplaceRoutes(handle, parts);
  keyRoutes(handle, parts);
  providerRoutes(app, handle, parts);
  calculationRoutes(app, handle, admit, parts);
  importRoutes(app, handle, admit, parts);
  exportRoutes(app, admit, parts);
  backupRoutes(app, admit, parts);

  const streams = createEventStreams(feed, stopping);
  parts.metrics.watchReaders(streams.readers);
  app.get('/api/stream', async (context) => {
    const request = context.req.raw;
    await admit(request, 'read');
    const cutOff = () => context.env?.outgoing?.destroy();
    return streams.open(request.signal, cutOff, () => stillAdmitted(admit, request));
  });

  metricsRoutes(app, admit, parts.metrics);

  const document = openApiDocument(version);
  const whole =
    parts.calculations === null ? document : withCalculations(document, parts.calculations.description);
  app.get('/api/openapi.json', () => jsonAnswer(whole));
  const docs = docsPage(document);
  app.get('/api/docs', (context) =>
    context.html(docs, 200, { 'Content-Security-Policy': contentSecurityPolicy(docsStyleHash) }),
  );

  refuseOtherMethods(app);
  app.all('/api/*', (context) => noSuchPath(context.req.path));
  app.all('/api', (context) => noSuchPath(context.req.path));

  const files = webFolder === null ? null : pageFiles(webFolder);
  app.all('*', async (context) => {
    const { method, path } = context.req;
    if (method !== 'GET' && method !== 'HEAD') return wrongMethod(method, path, ['GET', 'HEAD']);
    const file = files === null ? null : await files(path, context.req.raw.headers);
    return file ?? noSuchPath(path);
  });
  return app;
}

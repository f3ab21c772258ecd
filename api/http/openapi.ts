import { OpenAPIHono, z } from '@hono/zod-openapi';
import { contract } from '../contract.ts';

import type { Action } from '../permissions.ts';
import * as schemas from '../schemas.ts';
import { plantWrites } from './entity-tag.ts';
import { PROBLEM_TYPE } from './refusals.ts';

interface Described {
  readonly action: Action;
  readonly summary: string;
  readonly tag: string;
  readonly params?: z.ZodObject;
  readonly query?: z.ZodObject;
  readonly body?: z.ZodType;
  readonly response: z.ZodType;
  readonly signed?: true;
  readonly once?: true;
}

const tags = [
  { name: 'server', description: 'The server itself' },
  {
    name: 'plant',
    description: 'Lines, stations, part models, characteristics, streams, sampling plans, people',
  },
  { name: 'sign-in', description: 'Signing in and out, secrets, registered stations' },
  { name: 'keys', description: 'Keys of programs: sent as Authorization: Bearer, see RFC 6750' },
  { name: 'samples', description: 'What was measured, corrected or missed' },
  { name: 'limits', description: 'Control limits and their versions' },
  { name: 'events', description: 'What happened on a line' },
  { name: 'restarts', description: 'First pieces after a change of the set-up, and their approval' },
  { name: 'alarms', description: 'Alarms, their record and their containment' },
  { name: 'handovers', description: 'What one supervisor hands over to the next, signed by both' },
  {
    name: 'concessions',
    description: 'Parts that a customer takes although they are not as the drawing asks',
  },
  { name: 'routing', description: 'Who hears of which alarm, and who next' },
  { name: 'messages', description: 'Messages that leave, and measurements by MQTT that were refused' },
  { name: 'workplaces', description: 'What Station, Floor and Review show, each in one answer' },
  { name: 'calculations', description: 'The statistics core: each calculation, stateless' },
  { name: 'imports', description: 'Samples from and to CSV' },
];

export const refusals: Readonly<Record<number, string>> = {
  400: 'Malformed JSON, or a key that is not written as one',
  401: 'Nobody is signed in; without sign-in, the header Runtrue-Person is missing or names nobody',
  403: 'The person who acts may not do this',
  404: 'Something named in the request does not exist',
  409: 'It contradicts what is stored',
  412: 'The plant has changed since',
  413: 'The body is too large',
  415: 'The body has another content type',
  422: 'A field cannot be accepted; each is named with the fix',
  429: 'Too many requests; the header Retry-After says how many seconds to wait',
  500: 'Unforeseen; the answer carries a reference to the log',
  503: 'Too many calculations are waiting',
};

const refused = (statuses: readonly number[]) =>
  Object.fromEntries(
    statuses.map((status) => [
      String(status),
      { description: refusals[status]!, content: { [PROBLEM_TYPE]: { schema: schemas.Problem } } },
    ]),
  );

const personHeader = z.object({
  'Runtrue-Person': schemas.Id.optional().openapi({
    description:
      'Id of the person who acts; their name stands on the record. Where people sign in, the session or the key says it, ' +
      'and this may be left out; what is given must be the same person.',
    example: 'kim',
  }),
});

const idempotencyKey = {
  'Idempotency-Key': z
    .string()
    .max(257)
    .optional()
    .openapi({
      description:
        'A key of the sender for this write, in double quotes. Sent again under the same key within 24 hours, it is not ' +
        'carried out again and gets the same answer; one that comes while the first is under way waits for it. Another ' +
        'request under the key is refused with 422.',
      example: '"8e03978e-40d5-43e8-bc93-6894a57f9324"',
    }),
};
const ifMatch = {
  'If-Match': z.string().optional().openapi({
    description:
      'The ETag of GET /api/plant that the change was made from; 412 where the plant has changed since.',
    example: '"plant-17"',
  }),
};

/** PUT /api/people/{id} is signed as soon as there is anybody who could sign. */
const signedLater: ReadonlySet<string> = new Set(['PUT /api/people/{id}']);

const operationId = (key: string): string =>
  key
    .toLowerCase()
    .replace('/api/', '')
    .replace(/[^a-z0-9]+(\w)/g, (_, letter: string) => letter.toUpperCase())
    .replace(/\W/g, '');

/** OpenAPI 3.1, drawn from the contract, with the doors that carry something other than JSON described by hand. */
export function openApiDocument(version: string) {
  const app = new OpenAPIHono();
  const registry = app.openAPIRegistry;

  registry.registerComponent('securitySchemes', 'session', {
    type: 'apiKey',
    in: 'cookie',
    name: 'runtrue-session',
    description: 'People, as the page signs them in. Over https the name begins with __Host-.',
  });
  registry.registerComponent('securitySchemes', 'key', {
    type: 'http',
    scheme: 'bearer',
    description: 'Programs: a key that an administrator has made (RFC 6750).',
  });
  const programsMay = new Set<string>(schemas.KeyScope.options);

  for (const [key, endpoint] of Object.entries<Described>(contract)) {
    const [method, path] = key.split(' ') as [string, string];
    const { action, params, query, body, signed, once } = endpoint;
    const ifMatches = plantWrites.has(key);
    const signedAtTimes = signed === true || signedLater.has(key);
    const statuses = [
      ...(body === undefined ? [] : [400]),
      ...(action === 'come in' ? [] : [400, 401, 403]),
      ...(params || query || body ? [404] : []),
      ...(method === 'GET' ? [] : [409]),
      ...(body === undefined ? [] : [413, 415]),
      ...(ifMatches ? [412] : []),
      422,
      429,
      500,
    ];
    registry.registerPath({
      method: method.toLowerCase() as 'get',
      path,
      operationId: operationId(key),
      summary: endpoint.summary,
      tags: [endpoint.tag],
      security:
        action === 'come in' ? [] : [{ session: [] }, ...(programsMay.has(action) ? [{ key: [] }] : [])],
      request: {
        ...(params && { params }),
        ...(query && { query }),
        ...(signedAtTimes && {
          headers: personHeader.extend({
            ...(once && idempotencyKey),
            ...(ifMatches && ifMatch),
          }),
        }),
        ...(body && { body: { required: true, content: { 'application/json': { schema: body } } } }),
      },
      responses: {
        200: { description: 'Done', content: { 'application/json': { schema: endpoint.response } } },
        ...(method === 'GET' && { 304: { description: 'As If-None-Match has it: nothing is sent again' } }),
        ...refused(statuses),
      },
    });
  }

  registry.registerPath({
    method: 'post',
    path: '/api/imports',
    operationId: 'postImports',
    summary:
      'Upload a file (CSV, workbook, JSON lines) and see what is in it; nothing of it is stored as samples yet',
    tags: ['imports'],
    request: {
      headers: z.object({
        'File-Name': z
          .string()
          .openapi({ description: 'Name of the file, percent-encoded, for the record', example: 'gear.csv' }),
      }),
      body: {
        required: true,
        description: 'The bytes of the file, as they are',
        content: {
          'text/csv': { schema: z.string() },
          'application/x-ndjson': { schema: z.string() },
          'application/vnd.openxmlformats-officedocument.spreadsheetml.sheet': { schema: z.string() },
          'application/octet-stream': { schema: z.string() },
        },
      },
    },
    responses: {
      200: { description: 'What was found', content: { 'application/json': { schema: schemas.ImportFile } } },
      ...refused([400, 401, 403, 413, 415, 422, 500]),
    },
  });
  registry.registerPath({
    method: 'get',
    path: '/api/export.csv',
    operationId: 'getExportCsv',
    summary: 'Samples of one stream and part model as CSV',
    tags: ['imports'],
    request: {
      query: schemas.ExportQuery,
    },
    responses: {
      200: { description: 'One row a sample', content: { 'text/csv': { schema: z.string() } } },
      ...refused([400, 401, 403, 404, 422, 500]),
    },
  });
  registry.registerPath({
    method: 'get',
    path: '/api/alarm-report.csv',
    operationId: 'getAlarmReportCsv',
    summary: 'Every alarm of a period as CSV',
    tags: ['alarms'],
    request: {
      query: schemas.AlarmReportQuery,
    },
    responses: {
      200: {
        description: 'One row for each time that an alarm called',
        content: { 'text/csv': { schema: z.string() } },
      },
      ...refused([400, 401, 403, 422, 500]),
    },
  });
  registry.registerPath({
    method: 'get',
    path: '/api/backup',
    operationId: 'getBackup',
    summary: 'The whole plant as it is now, as one file that npm run restore takes',
    tags: ['server'],
    responses: {
      200: {
        description: 'A SQLite database with a manifest of its content',
        content: { 'application/vnd.sqlite3': { schema: z.string() } },
      },
      ...refused([400, 401, 403, 409, 422, 500, 503]),
    },
  });
  registry.registerPath({
    method: 'get',
    path: '/api/stream',
    operationId: 'getStream',
    summary: 'Changes as they happen, as server-sent events',
    description:
      'Each event carries a Change as its data and the kind of the change as its type. Ids increase. A comment comes ' +
      'every 15 seconds. A reader that falls behind is cut off; after a new connection, fetch what you show anew.',
    tags: ['server'],
    responses: {
      200: {
        description: 'An endless stream of events',
        content: { 'text/event-stream': { schema: schemas.Change } },
      },
      ...refused([400, 401, 403, 500]),
    },
  });

  return app.getOpenAPI31Document({
    openapi: '3.1.0',
    info: {
      title: 'Runtrue',
      version,
      description:
        'Samples, control limits, alarms and their evidence for stamped and rolled parts. The software advises; people ' +
        'release parts. Every refusal is a problem document (RFC 9457) that names the field and the fix.',
      license: { name: 'MIT' },
    },
    servers: [{ url: '/' }],
    tags,
  });
}

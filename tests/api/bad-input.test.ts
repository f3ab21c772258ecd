import { z } from '@hono/zod-openapi';
import fc from 'fast-check';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { contract, type EndpointKey } from '../../api/contract.ts';
import {
  openApp,
  problemOf,
  requestTo,
  setLimits,
  setUpPlant,
  start,
  type TestApp,
  widths,
} from './support.ts';

let app: TestApp;
beforeAll(async () => {
  app = openApp();
  await setUpPlant(app);
  await setLimits(app);
});
afterAll(() => app.close());

const post = (body: BodyInit, headers: Record<string, string> = {}): Request =>
  new Request('http://127.0.0.1/api/samples', {
    method: 'POST',
    body,
    headers: { 'Content-Type': 'application/json', 'Runtrue-Person': 'kim', ...headers },
    ...(body instanceof ReadableStream ? { duplex: 'half' } : {}),
  } as RequestInit);

const refusedSample = async (change: object) => {
  const before = await app.store.sampleCount();
  const problem = await app.refused('POST /api/samples', { body: { ...widths(127), ...change } });
  expect(await app.store.sampleCount()).toBe(before);
  return problem;
};

describe('a body that cannot be read', () => {
  it('says where JSON is malformed', async () => {
    const problem = await problemOf(await app.fetch(post('{"id": 1,\n "streamId" "x"}')));
    expect(problem).toMatchObject({ status: 400, title: 'Malformed JSON' });
    expect(problem.detail).toContain('line 2, column 13, expected a colon after the name');
  });

  it.each([
    ['text/plain', 'it says "text/plain"'],
    ['application/x-www-form-urlencoded', 'it says'],
    ['', 'there is no Content-Type'],
  ])('refuses the content type %j', async (type, words) => {
    const request = requestTo('POST /api/samples', { body: widths(127) });
    if (type === '') request.headers.delete('Content-Type');
    else request.headers.set('Content-Type', type);
    const problem = await problemOf(await app.fetch(request));
    expect(problem.status).toBe(415);
    expect(problem.detail).toContain(words);
    expect(problem.errors[0]!.field).toBe('Content-Type');
  });

  it('takes JSON with a charset and by a name of its own', async () => {
    for (const type of [
      'application/json; charset=utf-8',
      'Application/JSON',
      'application/vnd.plant+json',
    ]) {
      const request = requestTo('POST /api/samples', { body: widths(127) });
      request.headers.set('Content-Type', type);
      expect((await app.fetch(request)).status).toBe(200);
    }
  });

  it('refuses bytes that are not UTF-8, and a missing body', async () => {
    const bytes = await problemOf(await app.fetch(post(new Uint8Array([0x22, 0xff, 0xfe, 0x22]))));
    expect(bytes).toMatchObject({ status: 400 });
    expect(bytes.detail).toContain('UTF-8');
    const nothing = await problemOf(await app.fetch(post('')));
    expect(nothing).toMatchObject({ status: 400 });
    expect(nothing.detail).toContain('the end of the body');
  });

  it('refuses a body over 1 MiB while it arrives, however long it would be', async () => {
    let sent = 0;
    const endless = new ReadableStream<Uint8Array>({
      pull(controller) {
        sent += 64 * 1024;
        controller.enqueue(new Uint8Array(64 * 1024).fill(32));
      },
    });
    const problem = await problemOf(await app.fetch(post(endless)));
    expect(problem).toMatchObject({ status: 413 });
    expect(problem.detail).toContain('1024 KiB');
    expect(sent).toBeLessThan(2 * 1024 * 1024);
  });

  it('refuses a million values in a sample', async () => {
    const values = `[${'{"value":1},'.repeat(1e6 - 1)}{"value":1}]`;
    const whole = JSON.stringify(widths(127)).replace(/"readings":\[.*?\]/, `"readings":${values}`);
    expect((await problemOf(await app.fetch(post(whole)))).status).toBe(413);
    const short = JSON.stringify(widths(127)).replace(
      /"readings":\[.*?\]/,
      `"readings":[${'1,'.repeat(400_000)}1]`,
    );
    const problem = await problemOf(await app.fetch(post(short)));
    expect(problem.status).toBe(422);
    expect(problem.errors[0]).toMatchObject({ field: 'readings' });
  });
});

describe('a sample that cannot be accepted', () => {
  it.each<[string, object, number, string, string]>([
    ['a number too large', { readings: [{ value: 1e300 }] }, 422, 'readings.0.value', 'at most'],
    [
      'a text for a number',
      { readings: [{ value: '12.5' }] },
      422,
      'readings.0.value',
      'must be a number, not a text',
    ],
    ['a missing stream', { streamId: undefined }, 422, 'streamId', 'is missing; give a text'],
    ['an unknown stream', { streamId: 'C99' }, 404, 'streamId', 'There is no stream "C99"'],
    ['an unknown model', { modelId: 'Q99' }, 404, 'modelId', 'There is no'],
    ['an id that is no UUID', { id: '17' }, 422, 'id', 'must be a UUID'],
    ['a time without offset', { takenAt: '2025-09-03T10:00:00' }, 422, 'takenAt', 'distance from UTC'],
    [
      'a time that does not exist',
      { takenAt: '2025-02-30T10:00:00Z' },
      422,
      'takenAt',
      'must be a date and time',
    ],
    ['a time in the future', { takenAt: '2031-01-01T00:00:00Z' }, 422, 'takenAt', 'future'],
    ['an ancient time', { takenAt: '0001-01-01T00:00:00Z' }, 422, 'takenAt', ''],
    ['another unit', { unit: 'in' }, 422, 'unit', 'mm'],
    ['an unknown unit', { unit: 'parsec' }, 422, 'unit', 'must be one of "1", "mm"'],
    [
      '101 readings',
      { readings: Array.from({ length: 101 }, () => ({ value: 127 })) },
      422,
      'readings',
      'at most 100 entries',
    ],
    ['no readings', { readings: [] }, 422, 'readings', 'at least 1'],
    ['both readings and a count', { count: { inspected: 5, nonconforming: 0 } }, 422, 'readings', 'not both'],
    [
      'a count of a measured characteristic',
      { readings: undefined, count: { inspected: 5, nonconforming: 0 } },
      422,
      'readings',
      'measured, not counted',
    ],
    [
      'more nonconforming than inspected',
      { readings: undefined, count: { inspected: 5, nonconforming: 6 } },
      422,
      'count.nonconforming',
      'must not exceed',
    ],
    ['NUL in a text', { note: 'a\0b' }, 422, 'note', 'NUL'],
    ['half a character', { note: '\ud800' }, 422, 'note', 'surrogate'],
    ['a text too long', { note: 'x'.repeat(2001) }, 422, 'note', 'at most 2000 characters'],
  ])('refuses %s', async (_, change, status, field, words) => {
    const problem = await refusedSample(change);
    expect(problem.status, problem.detail).toBe(status);
    const error = problem.errors.find((candidate) => candidate.field === field);
    expect(error, JSON.stringify(problem)).toBeDefined();
    expect(error!.message).toContain(words);
  });

  it('names every wrong field at once, and no more than twenty', async () => {
    const problem = await refusedSample({ id: 'x', unit: 'x', readings: Array(100).fill({ value: 'x' }) });
    expect(problem.errors).toHaveLength(20);
    expect(problem.errors.map(({ field }) => field)).toEqual(
      expect.arrayContaining(['id', 'unit', 'readings.0.value']),
    );
    expect(problem.detail).toContain('and 99 more');
  });

  it('refuses a number that no number can hold, and a name given twice', async () => {
    const text = JSON.stringify(widths(127));
    const huge = await problemOf(await app.fetch(post(text.replace('126.8', '1e400'))));
    expect(huge.errors).toEqual([
      { field: 'readings.0.value', message: expect.stringContaining('1e400 is too large') },
    ]);
    const twice = await problemOf(await app.fetch(post(text.replace('{', '{"unit":"in",'))));
    expect(twice.errors).toEqual([{ field: 'unit', message: 'is given twice; give it once' }]);
  });
});

describe('an address that cannot be answered', () => {
  it.each([
    ['GET', '/api/nothing', 404],
    ['GET', '/api', 404],
    ['GET', '/api/samples/', 404],
    ['DELETE', '/api/plant', 405],
    ['GET', '/api/samples', 405],
    ['POST', '/api/docs', 405],
    ['POST', '/station', 405],
    ['GET', '/api/samples/17', 422],
    ['GET', '/api/alarms/0', 422],
    ['GET', '/api/alarms/99999', 404],
    ['GET', '/api/alarms?limit=0', 422],
    ['GET', '/api/alarms?open=maybe', 422],
    ['GET', '/api/alarms?opne=true', 422],
    ['GET', '/api/alarms?limit=1&limit=2', 422],
    ['GET', '/api/stations/nowhere/work', 404],
    ['GET', '/api/stations/%00/work', 422],
    ['GET', '/api/stations/%zz/work', 422],
    ['GET', '/api/review?streamId=C5-R1', 422],
    ['GET', '/api/review?streamId=C5-R1&modelId=Q99', 404],
    ['GET', '/api/review?streamId=C5-R1&modelId=Q10&from=2025-09-03T00:00:00Z&to=2025-09-02T00:00:00Z', 422],
    ['GET', '/api/events?lineId=R9&from=2025-09-01T00:00:00Z&to=2025-09-02T00:00:00Z', 404],
  ])('%s %s gets %i', async (method, path, status) => {
    const response = await app.fetch(new Request(`http://127.0.0.1${path}`, { method }));
    expect((await problemOf(response)).status).toBe(status);
  });

  it('names the methods that an address takes', async () => {
    const response = await app.fetch(new Request('http://127.0.0.1/api/plant', { method: 'DELETE' }));
    expect(response.headers.get('allow')).toBe('GET, HEAD, PUT');
    expect((await problemOf(response)).detail).toBe(
      '/api/plant does not take DELETE; it takes GET, HEAD, PUT.',
    );
  });

  it('names a misspelt parameter and those that there are', async () => {
    const response = await app.fetch(new Request('http://127.0.0.1/api/alarms?opne=true'));
    expect((await problemOf(response)).errors).toEqual([
      { field: 'opne', message: 'is not a parameter here; this address takes open, streamId, limit' },
    ]);
  });
});

// ---- Attack: whatever is sent, never an unforeseen error, and every refusal a problem document -----------------

interface Json {
  readonly type?: string;
  readonly format?: string;
  readonly pattern?: string;
  readonly const?: unknown;
  readonly enum?: readonly unknown[];
  readonly minimum?: number;
  readonly maximum?: number;
  readonly minItems?: number;
  readonly maxItems?: number;
  readonly items?: Json;
  readonly properties?: Readonly<Record<string, Json>>;
  readonly required?: readonly string[];
  readonly anyOf?: readonly Json[];
  readonly oneOf?: readonly Json[];
  readonly allOf?: readonly Json[];
}

const knownIds = [
  'kim',
  'R1',
  'R1-end',
  'Q10',
  'Q12',
  'C5',
  'C6',
  'C3',
  'C5-R1',
  'C6-R1',
  'C3-R1',
  'new',
  'new-2',
];
const times = [
  '2025-09-03T07:30:00Z',
  '2025-09-03T10:00:00+02:00',
  '1969-12-31T23:59:59Z',
  '9999-12-31T23:59:59.999-14:00',
  '0000-01-01T00:00:00Z',
];

/** Values that fit a schema of the contract, with a liking for the ids of the plant. */
function fitting(schema: Json): fc.Arbitrary<unknown> {
  if (schema.const !== undefined) return fc.constant(schema.const);
  if (schema.enum !== undefined) return fc.constantFrom(...schema.enum);
  const choices = schema.anyOf ?? schema.oneOf;
  if (choices !== undefined) return fc.oneof(...choices.map(fitting));
  if (schema.allOf !== undefined) return fitting(Object.assign({}, ...schema.allOf));
  switch (schema.type) {
    case 'null':
      return fc.constant(null);
    case 'boolean':
      return fc.boolean();
    case 'integer':
    case 'number': {
      const min = Math.max(schema.minimum ?? 0, -1e12);
      const max = Math.min(schema.maximum ?? 1000, 1e12);
      const whole = fc.integer({ min: Math.ceil(Math.max(min, -2e9)), max: Math.floor(Math.min(max, 2e9)) });
      if (schema.type === 'integer') return whole;
      return fc.oneof(
        whole,
        fc.double({ min, max, noNaN: true }),
        fc.constantFrom(min, max, 127, 127.12, 5e-324, -0),
      );
    }
    case 'string':
      if (schema.format === 'uuid')
        return fc.oneof(fc.uuid({ version: 4 }), fc.constant('0b9d3a52-6f0e-4c9a-9d55-0f6f4e3f2c11'));
      if (schema.format === 'date-time') {
        return fc.oneof(
          fc.constantFrom(...times),
          fc.integer({ min: start - 7 * 86_400_000, max: start }).map((time) => new Date(time).toISOString()),
        );
      }
      if (schema.pattern?.includes('A-Za-z0-9')) return fc.constantFrom(...knownIds);
      if (schema.pattern !== undefined) return fc.constantFrom('06:00', '14:30', '24:00', '00:00', '23:59');
      return fc.string({ unit: 'grapheme', minLength: 1, maxLength: 40 });
    case 'array':
      return fc.array(fitting(schema.items ?? {}), {
        minLength: schema.minItems ?? 0,
        maxLength: Math.min(schema.maxItems ?? 6, 6),
      });
    case 'object': {
      const properties = Object.entries(schema.properties ?? {}).map(
        ([name, inner]) => [name, fitting(inner)] as const,
      );
      return fc.record(Object.fromEntries(properties), { requiredKeys: [...(schema.required ?? [])] });
    }
    default:
      return fc.jsonValue();
  }
}

const hostile = fc.oneof(
  fc.constantFrom<unknown>(
    null,
    true,
    '',
    ' ',
    '\0',
    '\ud800',
    '\u202e',
    'x'.repeat(5000),
    "'; drop table samples; --",
    '../../etc/passwd',
    -1,
    0,
    -0,
    1e12,
    -1e12,
    1.0000001e12,
    1e308,
    5e-324,
    2 ** 53,
    0.1 + 0.2,
    [],
    {},
    [[]],
    { value: {} },
    { __proto__: null, constructor: 1 },
    Array.from({ length: 1001 }, () => 1),
    JSON.parse(`${'['.repeat(60)}${']'.repeat(60)}`),
    '2025-13-01T00:00:00Z',
    '9'.repeat(400),
    'NaN',
  ),
  fc.jsonValue({ maxDepth: 3 }),
);

/** Puts a hostile value in one place of a value that would fit. */
function spoil(value: unknown, [turn = 0, ...turns]: readonly number[], bad: unknown): unknown {
  if (typeof value !== 'object' || value === null || turn % 4 === 0) return bad;
  const entries = Object.entries(value);
  if (entries.length === 0) return bad;
  const [name, inner] = entries[turn % entries.length]!;
  const spoiled = spoil(inner, turns, bad);
  return Array.isArray(value)
    ? value.map((item, index) => (String(index) === name ? spoiled : item))
    : { ...value, [name]: spoiled };
}

const rawText = fc.oneof(
  fc.constantFrom(
    '1e400',
    '-1e400',
    '{"a":1,"a":2}',
    '"\\u0000"',
    '[',
    '{"id":',
    'nul',
    '\ufeff{}',
    '{}{}',
    '"\\ud800"',
  ),
  fc.string({ unit: 'binary', maxLength: 60 }),
);

describe('an attack drawn from the contract', () => {
  const keys = Object.keys(contract) as EndpointKey[];

  const attack = fc.constantFrom(...keys).chain((key) => {
    const endpoint = contract[key] as { params?: z.ZodType; query?: z.ZodType; body?: z.ZodType };
    const part = (schema: z.ZodType | undefined) =>
      schema
        ? fitting(z.toJSONSchema(schema, { io: 'input', unrepresentable: 'any' }) as Json)
        : fc.constant(undefined);
    return fc.record({
      key: fc.constant(key),
      params: part(endpoint.params),
      query: part(endpoint.query),
      body: part(endpoint.body),
      // Half of the requests stay as the contract wants them, so that they reach what lies behind it.
      spoilt: fc.constantFrom('nothing', 'nothing', 'nothing', 'body', 'body', 'params', 'query', 'text'),
      turns: fc.array(fc.nat(30), { minLength: 6, maxLength: 6 }),
      bad: hostile,
      text: rawText,
      person: fc.constantFrom('kim', 'kim', 'kim', 'kim', null, 'nobody', 'x'.repeat(300)),
    });
  });

  it('never gets an unforeseen error, and gets a problem document for every refusal', async () => {
    const statuses = new Map<number, number>();
    await fc.assert(
      fc.asyncProperty(attack, async ({ key, params, query, body, spoilt, turns, bad, text, person }) => {
        const change = (part: string, value: unknown) => (spoilt === part ? spoil(value, turns, bad) : value);
        const flat = (value: unknown): Record<string, string> =>
          Object.fromEntries(
            Object.entries((value ?? {}) as object).map(([name, inner]) => [
              name,
              Buffer.from(typeof inner === 'string' ? inner : JSON.stringify(inner ?? null)).toString(),
            ]),
          );
        const request = requestTo(
          key,
          {
            params: flat(change('params', params)),
            query: flat(change('query', query)),
            ...(body === undefined ? {} : { body: change('body', body) ?? null }),
          },
          person,
        );
        const sent = spoilt === 'text' && body !== undefined ? new Request(request, { body: text }) : request;
        const response = await app.fetch(sent);
        statuses.set(response.status, (statuses.get(response.status) ?? 0) + 1);
        if (response.status === 200) return;
        const problem = await problemOf(response);
        expect([400, 401, 403, 404, 409, 413, 422], JSON.stringify({ key, problem, body })).toContain(
          response.status,
        );
        for (const error of problem.errors) expect(error.message.length).toBeGreaterThan(3);
      }),
      { numRuns: 2000 },
    );
    expect(app.logged).toEqual([]);
    // The attack is worth something only if much of it gets behind the first check.
    expect(statuses.get(200)).toBeGreaterThan(150);
    expect(statuses.get(422)).toBeGreaterThan(300);
  });

  it('leaves the plant readable by its own contract', async () => {
    await app.call('GET /api/plant');
    await app.call('GET /api/floor');
    await app.call('GET /api/stations/{id}/work', { params: { id: 'R1-end' } });
    await app.call('GET /api/review', { query: { streamId: 'C5-R1', modelId: 'Q10' } });
    await app.call('GET /api/alarms', { query: {} });
  });
});

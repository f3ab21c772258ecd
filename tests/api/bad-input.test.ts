import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openApp, problemOf, requestTo, setLimits, setUpPlant, type TestApp, widths } from './support.ts';

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
    ['a bare number for a reading', { readings: [0.21] }, 422, 'readings.0', 'such as {"value": 0.21}'],
    [
      'a bare number for a count',
      { readings: undefined, count: 3 },
      422,
      'count',
      'such as {"inspected": 310, "nonconforming": 1}',
    ],
    ['an id with a blank', { streamId: 'C 5' }, 422, 'streamId', 'must be letters, digits, dot'],
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
    [
      'a time after the year 9999 of UTC',
      { takenAt: '9999-12-31T23:00:00-02:00' },
      422,
      'takenAt',
      '0000 to 9999',
    ],
    [
      'a time before the year 0 of UTC',
      { takenAt: '0000-01-01T00:00:00+02:00' },
      422,
      'takenAt',
      '0000 to 9999',
    ],
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
    ['GET', '/api/samples', 422],
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
      { field: 'opne', message: 'is not a parameter here; this address takes open, streamId, after, limit' },
    ]);
  });
});

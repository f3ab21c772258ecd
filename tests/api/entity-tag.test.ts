import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { openApp, problemOf, requestTo, setUpPlant, type TestApp, widths } from './support.ts';

let app: TestApp;
beforeEach(async () => {
  app = openApp();
  await setUpPlant(app);
});
afterEach(() => app.close());

const read = (path: string, headers: Record<string, string> = {}) =>
  app.fetch(new Request(`http://127.0.0.1${path}`, { headers: { 'Runtrue-Person': 'kim', ...headers } }));

describe('an answer that is read', () => {
  it.each(['/api/plant', '/api/floor', '/api/alarms', '/api/limits?streamId=C5-R1&modelId=Q10'])(
    'has a strong tag, and %s is not sent again to who holds it',
    async (path) => {
      // What holds a moment of the clock changes with it.
      const first = await read(path);
      const tag = first.headers.get('etag')!;
      expect(tag).toMatch(/^"[\w-]+"$/);
      for (const held of [tag, `W/${tag}`, `"other", ${tag}`, '*']) {
        const again = await read(path, { 'If-None-Match': held });
        expect(again.status).toBe(304);
        expect(again.headers.get('etag')).toBe(tag);
        expect(await again.text()).toBe('');
      }
      expect((await read(path, { 'If-None-Match': '"other"' })).status).toBe(200);
    },
  );

  it('has another tag once it is another', async () => {
    const before = (await read('/api/floor')).headers.get('etag')!;
    await app.call('POST /api/samples', { body: widths(127) });
    const after = await read('/api/floor', { 'If-None-Match': before });
    expect(after.status).toBe(200);
    expect(after.headers.get('etag')).not.toBe(before);
  });
});

describe('a change of the plant', () => {
  const rename = (name: string, ifMatch: string) => {
    const request = requestTo('PUT /api/models/{id}', {
      params: { id: 'Q10' },
      body: { record: { id: 'Q10', name }, reason: 'A better name' },
    });
    request.headers.set('If-Match', ifMatch);
    return app.fetch(request);
  };
  const tagNow = async () => (await read('/api/plant')).headers.get('etag')!;

  it('that was made from an older state of it is refused, and nothing is lost', async () => {
    const tag = await tagNow();
    expect((await rename('Wheel ten', tag)).status).toBe(200);
    expect(await problemOf(await rename('Ten', tag))).toMatchObject({
      status: 412,
      errors: [{ field: 'If-Match' }],
    });
    const plant = await app.call('GET /api/plant');
    expect(plant.models.find(({ id }) => id === 'Q10')!.name).toBe('Wheel ten');
    expect((await rename('Ten', await tagNow())).status).toBe(200);
    expect((await rename('Eleven', '*')).status).toBe(200);
  });

  it('of two made from the same state at the same time only one is taken', async () => {
    const tag = await tagNow();
    const answers = await Promise.all(['a', 'b', 'c', 'd'].map((name) => rename(name, tag)));
    expect(answers.map(({ status }) => status).sort()).toEqual([200, 412, 412, 412]);
  });
});

/** The first piece after a change of the set-up, over HTTP: who may say what, what is refused, who hears of it. */
import { randomUUID } from 'node:crypto';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { openApp, setLimits, setUpPlant, start, type TestApp, widths } from './support.ts';

const MINUTE = 60_000;
let app: TestApp;
beforeEach(async () => {
  app = openApp();
  await setUpPlant(app);
  await setLimits(app);
  for (const [id, role] of [
    ['tess', 'tech'],
    ['sam', 'supervisor'],
  ] as const) {
    await app.call('PUT /api/people/{id}', { params: { id }, body: { record: { id, name: id, role } } });
  }
});
afterEach(() => app.close());

const change = (kind: 'tool change' | 'changeover' | 'coil' = 'changeover') =>
  app.call('POST /api/events', {
    body: {
      id: randomUUID(),
      lineId: 'R1',
      stationId: null,
      streamId: null,
      kind,
      at: new Date(start - 30 * MINUTE).toISOString(),
      until: null,
      modelId: kind === 'changeover' ? 'Q10' : null,
      lot: kind === 'coil' ? 'L1' : null,
      text: '',
    },
  });
const measure = async () => {
  await app.call('POST /api/samples', { body: widths(127) });
  const takenAt = new Date(start).toISOString();
  const other = { modelId: 'Q10', takenAt } as const;
  const readings = [0.2, 0.3, 0.2, 0.3, 0.2].map((value) => ({ value }));
  await app.call('POST /api/samples', {
    body: { id: randomUUID(), streamId: 'C6-R1', unit: 'mm', readings, ...other },
  });
  const count = { inspected: 50, nonconforming: 0 };
  await app.call('POST /api/samples', {
    body: { id: randomUUID(), streamId: 'C3-R1', unit: '1', count, ...other },
  });
};
const stated = (id: string) => ({ params: { id }, body: { id: randomUUID() } });
const approved = (id: string) => ({
  params: { id },
  body: { id: randomUUID(), decision: 'approved' as const },
});

describe('a restart', () => {
  it('stands on the board until two people, a technician and an engineer, have signed its first piece', async () => {
    const { id } = await change();
    const [open] = (await app.call('GET /api/floor')).restarts;
    // Half an hour at 310 an hour.
    expect(open).toMatchObject({ id, state: 'waiting', unapproved: { runningHours: 0.5, parts: 155 } });
    expect(await app.call('GET /api/restarts', { query: { lineId: 'R1' } })).toEqual([open]);

    await measure();
    await app.call('POST /api/restarts/{id}/first-piece', stated(id), 'tess');
    const { entries, next } = await app.call('POST /api/restarts/{id}/decision', approved(id), 'kim');
    expect(next).toBe(
      'Kim approved the first piece. It says nothing about the parts made before; they are released separately.',
    );
    expect(entries.map(({ personId }) => personId)).toEqual(['tess', 'kim']);
    expect((await app.call('GET /api/floor')).restarts).toEqual([]);
    const all = await app.call('GET /api/restarts', { query: { lineId: 'R1', open: 'false' } });
    expect(all.map(({ state }) => state)).toEqual(['approved']);
  });

  it('is stated by technicians only, and decided by engineers only', async () => {
    const { id } = await change();
    await measure();
    for (const person of ['kim', 'sam', 'quinn']) {
      const refused = await app.refused('POST /api/restarts/{id}/first-piece', stated(id), person);
      expect(refused).toMatchObject({ status: 403, errors: [{ field: 'Runtrue-Person' }] });
      expect(refused.detail).toMatch(/^Only a quality technician may state first pieces; /);
    }
    await app.call('POST /api/restarts/{id}/first-piece', stated(id), 'tess');
    for (const person of ['tess', 'sam', 'quinn']) {
      const refused = await app.refused('POST /api/restarts/{id}/decision', approved(id), person);
      expect(refused).toMatchObject({ status: 403, errors: [{ field: 'Runtrue-Person' }] });
    }
    expect((await app.call('GET /api/restarts/{id}', { params: { id } })).restart.state).toBe('stated');
  });

  it('is refused in words where something planned is not measured, naming the field', async () => {
    const { id } = await change();
    await app.call('POST /api/samples', { body: widths(127) });
    const refused = await app.refused('POST /api/restarts/{id}/first-piece', stated(id), 'tess');
    expect(refused).toMatchObject({ status: 409, errors: [{ field: 'id' }] });
    expect(refused.detail).toMatch(
      /^The first piece is not done\. .*(Not measured yet: take .* pieces?|Not counted yet: .*)\. /,
    );
    const early = await app.refused('POST /api/restarts/{id}/decision', approved(id), 'kim');
    expect(early).toMatchObject({ status: 409, errors: [{ field: 'decision' }] });
    const silent = { params: { id }, body: { id: randomUUID(), decision: 'refused', text: ' ' } };
    expect(await app.refused('POST /api/restarts/{id}/decision', silent, 'kim')).toMatchObject({
      status: 422,
      errors: [{ field: 'text' }],
    });
  });

  it('is not found under an id of none, and not listed for a line of none', async () => {
    const id = randomUUID();
    expect(await app.refused('GET /api/restarts/{id}', { params: { id } })).toMatchObject({ status: 404 });
    expect(await app.refused('GET /api/restarts/{id}', { params: { id: 'x' } })).toMatchObject({
      status: 422,
      errors: [{ field: 'id' }],
    });
    expect(await app.refused('GET /api/restarts', { query: { lineId: 'R9' } })).toMatchObject({
      status: 404,
      errors: [{ field: 'lineId' }],
    });
    expect(await app.refused('GET /api/restarts', { query: { open: 'false' } })).toMatchObject({
      status: 422,
      errors: [{ field: 'lineId' }],
    });
  });

  it('is told to boards at once', async () => {
    const told: unknown[] = [];
    app.feed.subscribe((one) => told.push(one));
    await change('coil');
    const { id } = await change();
    await measure();
    await app.call('POST /api/restarts/{id}/first-piece', stated(id), 'tess');
    await app.call('POST /api/restarts/{id}/decision', approved(id), 'kim');
    const restarts = told.filter((one) => (one as { kind: string }).kind === 'restart');
    expect(restarts).toEqual(Array(3).fill({ kind: 'restart', lineId: 'R1', restartId: id }));
  });
});

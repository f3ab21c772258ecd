import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openApp, setUpPlant, type TestApp, widths } from './support.ts';

let app: TestApp;
beforeAll(async () => {
  app = openApp();
  await setUpPlant(app);
  await app.call('POST /api/samples', { body: widths(127) });
});
afterAll(() => app.close());

const firstLine = async () => (await app.call('GET /api/plant')).lines[0]!;

describe('the plant', () => {
  it('is read back as it was written', async () => {
    const plant = await app.call('GET /api/plant');
    expect(plant.plant).toEqual({ name: 'Test works', utcOffsetMinutes: 120 });
    expect(plant.streams.map(({ id }) => id).sort()).toEqual(['C3-R1', 'C5-R1', 'C6-R1']);
    expect(plant.plans).toHaveLength(3);
  });

  it('keeps who changed what, when and why', async () => {
    const line = await firstLine();
    await app.call('PUT /api/lines/{id}', {
      params: { id: 'R1' },
      body: { record: { ...line, partsPerHour: 320 }, reason: 'New drive' },
    });
    const changes = await app.store.plantChanges('lines', 'R1');
    expect(changes).toHaveLength(2);
    const newest = changes.find(({ before }) => before !== null)!;
    expect(newest).toMatchObject({ reason: 'New drive', personId: 'kim', at: app.clock.time });
    expect(newest.before).toMatchObject({ partsPerHour: 310 });
    expect(newest.after).toMatchObject({ partsPerHour: 320 });
  });

  it('asks for a reason where a record changes', async () => {
    const line = await firstLine();
    const problem = await app.refused('PUT /api/lines/{id}', {
      params: { id: 'R1' },
      body: { record: { ...line, name: 'Other' } },
    });
    expect(problem).toMatchObject({ status: 422, errors: [{ field: 'reason' }] });
  });

  it('asks that address and record name the same thing', async () => {
    const line = await firstLine();
    const problem = await app.refused('PUT /api/lines/{id}', {
      params: { id: 'R2' },
      body: { record: line },
    });
    expect(problem.errors).toEqual([
      { field: 'record.id', message: 'must be "R2", as in the address; it is "R1"' },
    ]);
  });

  it.each(['unit', 'kind'] as const)('keeps the %s of a characteristic that has samples', async (field) => {
    const { characteristics } = await app.call('GET /api/plant');
    const width = characteristics.find(({ id }) => id === 'C5')!;
    const problem = await app.refused('PUT /api/characteristics/{id}', {
      params: { id: 'C5' },
      body: { record: { ...width, [field]: field === 'unit' ? 'in' : 'count' }, reason: 'Mistake' },
    });
    expect(problem).toMatchObject({ status: 409 });
    expect(problem.errors[0]!.field).toContain(field);
  });

  it('asks that what a record refers to exists', async () => {
    const station = await app.refused('PUT /api/stations/{id}', {
      params: { id: 'S9' },
      body: { record: { id: 'S9', lineId: 'R9', name: 'Nowhere' } },
    });
    expect([404, 422]).toContain(station.status);
    expect(station.errors[0]!.field).toContain('lineId');
    const plan = (await app.call('GET /api/plant')).plans[0]!;
    const missing = await app.refused('PUT /api/plans/{id}', {
      params: { id: 'C9-R9' },
      body: { record: { ...plan, streamId: 'C9-R9' } },
    });
    expect(missing.errors[0]!.field).toContain('streamId');
  });

  it('refuses specification limits in the wrong order', async () => {
    const problem = await app.refused('PUT /api/specifications/{characteristicId}/{modelId}', {
      params: { characteristicId: 'C6', modelId: 'Q10' },
      body: {
        record: {
          characteristicId: 'C6',
          modelId: 'Q10',
          nominal: null,
          lowerSpecificationLimit: 2,
          upperSpecificationLimit: 1,
        },
      },
    });
    expect(problem).toMatchObject({ status: 422 });
    expect(problem.errors).toEqual([
      { field: 'record.upperSpecificationLimit', message: 'must be greater than lowerSpecificationLimit' },
    ]);
  });
});

describe('people', () => {
  it('lets the first person of an empty plant sign for themselves, and nobody after', async () => {
    const empty = openApp();
    const put = (id: string, name: string) => ({
      params: { id },
      body: { record: { id, name, role: 'tech' as const } },
    });
    await empty.refused('PUT /api/plant', { body: { record: { name: 'x', utcOffsetMinutes: 0 } } }, 'ann');
    await empty.call('PUT /api/people/{id}', put('ann', 'Ann'), null);
    expect((await empty.store.plantChanges('people', 'ann'))[0]).toMatchObject({ personId: 'ann' });
    expect(await empty.refused('PUT /api/people/{id}', put('bo', 'Bo'), null)).toMatchObject({ status: 401 });
    await empty.call('PUT /api/people/{id}', put('bo', 'Bo'), 'ann');
    expect((await empty.store.plantChanges('people', 'bo'))[0]).toMatchObject({ personId: 'ann' });
    await empty.close();
  });
});

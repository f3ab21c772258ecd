import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { type EventSubmission, MissedSample, PlantEvent } from '../../api/schemas.ts';
import {
  engineer,
  event,
  minutes,
  morning,
  openTestPlant,
  refusal,
  type TestPlant,
  take,
  tech,
} from './test-plant.ts';

let plant: TestPlant;
beforeEach(async () => {
  plant = await openTestPlant();
});
afterEach(() => plant.close());

const iso = (time: number) => new Date(time).toISOString();

describe('events', () => {
  it('are recorded once, with who and when', async () => {
    const coil = event({ kind: 'coil', lot: 'L1', streamId: 'width', stationId: 'R1-RIM', text: 'New coil' });
    plant.clock.time += minutes(1);
    const recorded = await plant.monitoring.recordEvent(coil, tech);
    expect(PlantEvent.parse(recorded)).toEqual(recorded);
    expect(recorded).toMatchObject({ personId: 'tech', recordedAt: iso(morning + minutes(1)), lot: 'L1' });
    expect(await plant.monitoring.recordEvent(coil, tech)).toEqual(recorded);
    expect(await plant.store.events('R1', { from: morning, to: morning })).toHaveLength(1);
    expect(plant.changes).toEqual([{ kind: 'event', lineId: 'R1' }]);
    await refusal(plant.monitoring.recordEvent({ ...coil, lot: 'L2' }, tech), 409, 'id');
  });

  it('of a stoppage that lasts reach into later periods, and are ended once', async () => {
    const stoppage = event({ kind: 'stoppage', at: iso(morning) });
    await plant.monitoring.recordEvent(stoppage, tech);
    plant.clock.time = morning + minutes(60);
    const later = { from: morning + minutes(30), to: morning + minutes(40) };
    expect(await plant.store.events('R1', later)).toMatchObject([{ kind: 'stoppage', until: null }]);
    const end = { ...stoppage, until: iso(morning + minutes(20)) };
    expect((await plant.monitoring.recordEvent(end, tech)).until).toBe(iso(morning + minutes(20)));
    expect(await plant.monitoring.recordEvent(end, tech)).toMatchObject({
      until: iso(morning + minutes(20)),
    });
    expect(await plant.store.events('R1', later)).toEqual([]);
    const other = { ...stoppage, until: iso(morning + minutes(25)) };
    await refusal(plant.monitoring.recordEvent(other, tech), 409, 'until');
    await refusal(plant.monitoring.recordEvent(stoppage, tech), 409, 'until');
  });

  it.each<[string, Partial<EventSubmission>, number, string]>([
    ['an unknown line', { lineId: 'R9' }, 404, 'lineId'],
    ['an unknown station', { stationId: 'nowhere' }, 404, 'stationId'],
    ['an unknown stream', { streamId: 'nowhere' }, 404, 'streamId'],
    ['an unknown model', { kind: 'changeover', modelId: 'Q99' }, 404, 'modelId'],
    ['the future', { at: iso(morning + minutes(10)) }, 422, 'at'],
    ['an end of what has none', { kind: 'note', until: iso(morning) }, 422, 'until'],
    ['an end before the beginning', { kind: 'stoppage', until: iso(morning - 1) }, 422, 'until'],
  ])('name the field: %s', async (_, changes, status, field) => {
    await refusal(plant.monitoring.recordEvent(event(changes), tech), status, field);
  });

  it('tell what ran at a moment', async () => {
    const run = (modelId: string, at: number) =>
      plant.monitoring.recordEvent(event({ kind: 'changeover', modelId, at: iso(at) }), tech);
    await run('Q10', morning - minutes(60));
    await run('Q12', morning);
    expect(await plant.store.latestEvent('R1', 'changeover', morning - 1)).toMatchObject({ modelId: 'Q10' });
    expect(await plant.store.latestEvent('R1', 'changeover', morning)).toMatchObject({ modelId: 'Q12' });
    expect(await plant.store.latestEvent('R1', 'coil', morning)).toBeNull();
  });
});

describe('missed samples', () => {
  it('keep the reason that was given first', async () => {
    const submission = { streamId: 'width', dueAt: iso(morning - minutes(90)), reason: 'Gauge away' };
    const missed = await plant.monitoring.declareMissed(submission, tech);
    expect(MissedSample.parse(missed)).toEqual(missed);
    expect(await plant.monitoring.declareMissed(submission, tech)).toEqual(missed);
    const other = plant.monitoring.declareMissed({ ...submission, reason: 'Forgot' }, tech);
    expect(await refusal(other, 409, 'dueAt')).toMatch(/Gauge away/);
    await refusal(plant.monitoring.declareMissed({ ...submission, streamId: 'x' }, tech), 404, 'streamId');
    expect(await plant.store.missedSamples('width', { from: 0, to: morning })).toHaveLength(1);
    expect(plant.changes).toEqual([{ kind: 'missed', streamId: 'width' }]);
  });

  it('are only those that the plan asks for and nobody took', async () => {
    const missed = (at: number) => refusalOf({ streamId: 'width', dueAt: iso(at), reason: 'Gauge away' });
    const refusalOf = (submission: { streamId: string; dueAt: string; reason: string }) =>
      plant.monitoring.declareMissed(submission, tech);
    expect(await refusal(missed(morning - minutes(80)), 422, 'dueAt')).toBe(
      'No sample of Stream of width was due 2025-09-03 06:40 (plant time): the nearest are due 2025-09-03 06:30 and 2025-09-03 07:30.',
    );
    await take(plant, 127, morning - minutes(25));
    expect(await refusal(missed(morning - minutes(30)), 409, 'dueAt')).toBe(
      'The sample due 2025-09-03 07:30 was not missed: it was taken 2025-09-03 07:35 (plant time).',
    );
    expect(await refusal(missed(morning - minutes(30 + 24 * 60)), 422, 'dueAt')).toBe(
      'The records of Stream of width begin 2025-09-02 08:00 (plant time); no sample before can have been missed.',
    );
    expect(await refusal(missed(morning + minutes(90)), 422, 'dueAt')).toMatch(
      /^The time at which the sample was due must not lie in the future/,
    );
    expect(await plant.store.missedSamples('width', { from: 0, to: morning })).toEqual([]);
  });
});

describe('the plant', () => {
  it('keeps every change with before, after, reason and person', async () => {
    const { models } = await plant.store.plantModel();
    const before = models.find(({ id }) => id === 'Q10')!;
    const after = { id: 'Q10', name: 'Wheel Q10, five inches' };
    const save = (reason: string) =>
      plant.monitoring.savePlantRecord({ kind: 'models', record: after }, reason, tech);
    await refusal(save(''), 422, 'reason');
    plant.clock.time += 1;
    await save('Clearer name');
    await save('Clearer name');
    expect(await plant.store.plantChanges('models', 'Q10')).toEqual([
      {
        kind: 'models',
        id: 'Q10',
        before: null,
        after: before,
        reason: '',
        personId: 'engineer',
        secondPersonId: null,
        at: morning - minutes(24 * 60),
      },
      {
        kind: 'models',
        id: 'Q10',
        before,
        after,
        reason: 'Clearer name',
        personId: 'tech',
        secondPersonId: null,
        at: morning + 1,
      },
    ]);
    expect((await plant.store.plantModel()).models.find(({ id }) => id === 'Q10')).toEqual(after);
    expect(plant.changes).toEqual([{ kind: 'plant' }]);
  });

  it('is the same after a restart', async () => {
    const model = await plant.store.plantModel();
    await plant.reopen();
    expect(await plant.store.plantModel()).toEqual(model);
  });

  it('never refers to what is not there, and does not change what samples mean', async () => {
    const save = plant.monitoring.savePlantRecord;
    const station = { id: 'S', lineId: 'R9', name: 'Nowhere' };
    await refusal(save({ kind: 'stations', record: station }, '', engineer), 404, 'record.lineId');
    await take(plant, 127, morning);
    const { characteristics, plans } = await plant.store.plantModel();
    const width = characteristics.find(({ id }) => id === 'width')!;
    const inches = { ...width, unit: 'in' as const };
    await refusal(save({ kind: 'characteristics', record: inches }, 'x', engineer), 409, 'record.unit');
    const bounds = { ...width, lowerNaturalBound: 2, upperNaturalBound: 1 };
    const reversed = save({ kind: 'characteristics', record: bounds }, 'x', engineer);
    await refusal(reversed, 422, 'record.upperNaturalBound');
    const leaks = { ...plans.find(({ streamId }) => streamId === 'leaks')!, chart: 'mean-range' as const };
    await refusal(save({ kind: 'plans', record: leaks }, 'x', engineer), 422, 'record.chart');
  });
});

import { randomUUID } from 'node:crypto';
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest';
import { openApp, secondSignature, setLimits, setUpPlant, start, type TestApp, widths } from './support.ts';

const hour = 3_600_000;
const at = (text: string): number => Date.parse(`2025-09-03T${text}:00+02:00`);

let app: TestApp;
beforeAll(async () => {
  app = openApp();
  // The plant is set up a day before the morning that is told.
  app.clock.time = start - 24 * hour;
  await setUpPlant(app);
  app.clock.time = start;
  await setLimits(app);
});
afterAll(() => app.close());

const work = () => app.call('GET /api/stations/{id}/work', { params: { id: 'R1-end' } });
const taskOf = async (streamId: string) => (await work()).tasks.find((task) => task.streamId === streamId)!;
const onFloor = async (streamId: string) =>
  (await app.call('GET /api/floor')).streams.find((stream) => stream.streamId === streamId)!;
const enter = (mean: number, takenAt: number) => {
  app.clock.time = Math.max(app.clock.time, takenAt);
  return app.call('POST /api/samples', { body: widths(mean, { takenAt }) });
};
const event = (kind: 'changeover' | 'coil' | 'stoppage', time: number, more: object = {}) =>
  app.call('POST /api/events', {
    body: {
      id: randomUUID(),
      lineId: 'R1',
      stationId: null,
      streamId: null,
      kind,
      at: new Date(time).toISOString(),
      until: null,
      modelId: null,
      lot: null,
      text: '',
      ...more,
    },
  });

// The tests below tell one morning and build on each other.
describe('a morning at one line', () => {
  it('asks for nothing from before a plan was made', async () => {
    const young = openApp();
    await setUpPlant(young);
    const { tasks } = await young.call('GET /api/stations/{id}/work', { params: { id: 'R1-end' } });
    // Made at 10:05.
    const slots = tasks.find(({ streamId }) => streamId === 'C5-R1')!.slots;
    expect(slots[0]).toEqual({
      dueAt: new Date(at('10:30')).toISOString(),
      state: 'upcoming',
      sampleId: null,
    });
    expect(slots).toHaveLength(12);
    const { streams } = await young.call('GET /api/floor');
    for (const stream of streams)
      expect(stream).toMatchObject({ state: expect.not.stringMatching('late'), missedToday: 0 });
    const dueAt = new Date(at('09:30')).toISOString();
    const refused = await young.refused('POST /api/missed-samples', {
      body: { streamId: 'C5-R1', dueAt, reason: 'Nobody there' },
    });
    expect(refused.detail).toContain('begin 2025-09-03 10:05 (plant time)');
    await young.close();
  });

  it('counts a sample that is begun from a late card for the slot of that card', async () => {
    const own = openApp();
    own.clock.time = start - 24 * hour;
    await setUpPlant(own);
    own.clock.time = start;
    const slotsOf = async () => {
      const { tasks } = await own.call('GET /api/stations/{id}/work', { params: { id: 'R1-end' } });
      return tasks.find(({ streamId }) => streamId === 'C5-R1')!.slots.slice(3, 5);
    };
    // 10:05: what was due at 09:30 is late, and nearer to the sample of 10:30 than to its own time.
    expect(await slotsOf()).toMatchObject([{ state: 'late' }, { state: 'upcoming' }]);
    const { sampleId } = await own.call('POST /api/samples', { body: widths(127, { takenAt: start }) });
    expect(await slotsOf()).toMatchObject([{ state: 'done', sampleId }, { state: 'upcoming' }]);
    own.clock.time = at('10:35');
    expect(await slotsOf()).toMatchObject([{ state: 'done', sampleId }, { state: 'due' }]);
    await own.close();
  });

  it('begins with nothing known: no model, no expectation, every slot so far missed', async () => {
    const { now, lineId, runningModelId, lot, tasks } = await work();
    expect({ now, lineId, runningModelId, lot }).toEqual({
      now: new Date(start).toISOString(),
      lineId: 'R1',
      runningModelId: null,
      lot: null,
    });
    expect(tasks.map(({ streamId }) => streamId).sort()).toEqual(['C3-R1', 'C5-R1', 'C6-R1']);
    const task = await taskOf('C5-R1');
    expect(task).toMatchObject({ modelId: null, expectation: null, recent: [], openAlarmId: null });
    // 06:30 to 21:30 by the hour; now it is 10:05.
    expect(task.slots).toHaveLength(16);
    expect(task.slots[0]).toEqual({ dueAt: '2025-09-03T04:30:00.000Z', state: 'missed', sampleId: null });
    expect(task.slots.map(({ state }) => state)).toEqual([
      ...['missed', 'missed', 'missed', 'late'],
      ...Array(12).fill('upcoming'),
    ]);
    expect(await onFloor('C5-R1')).toMatchObject({
      state: 'late',
      lastSampleAt: null,
      lastSentence: 'No sample yet.',
      missedToday: 3,
    });
  });

  it('takes model and coil from the newest sample while no event tells them', async () => {
    await app.call('POST /api/samples', { body: { ...widths(127, { takenAt: at('09:32') }), lot: 'L1' } });
    expect(await work()).toMatchObject({ runningModelId: 'Q10', lot: 'L1' });
    const task = await taskOf('C5-R1');
    expect(task.slots[3]).toMatchObject({ state: 'done', sampleId: task.recent[0]!.id });
    expect(task.limitsVersion).toBe(1);
  });

  it('takes them from the events of the line once there are any', async () => {
    await event('changeover', at('10:00'), { modelId: 'Q12' });
    await event('coil', at('10:01'), { lot: 'L2' });
    expect(await work()).toMatchObject({ runningModelId: 'Q12', lot: 'L2' });
    expect(await taskOf('C5-R1')).toMatchObject({ modelId: 'Q12', limitsVersion: null, recent: [] });
    await event('changeover', at('10:02'), { modelId: 'Q10' });
    expect(await work()).toMatchObject({ runningModelId: 'Q10' });
  });

  it('tells the page what makes a value plausible', async () => {
    const { expectation } = await taskOf('C5-R1');
    expect(expectation!.mean).toBe(127);
    expect(expectation!.standardDeviation).toBeCloseTo(0.18, 12);
    expect(expectation!.otherModels).toEqual([{ modelId: 'Q12', name: 'Wheel Q12', nominal: 152.4 }]);
    expect((await taskOf('C3-R1')).expectation).toBeNull();
  });

  it('shows the newest eight samples, oldest first', async () => {
    for (let sample = 0; sample < 10; sample += 1) await enter(127, at('09:40') + sample * 60_000);
    const { recent } = await taskOf('C5-R1');
    expect(recent).toHaveLength(8);
    const times = recent.map(({ takenAt }) => Date.parse(takenAt));
    expect(times).toEqual([...times].sort((a, b) => a - b));
    expect(times.at(-1)).toBe(at('09:49'));
  });

  it('has steady streams, streams without limits and streams without a chart on the floor', async () => {
    expect(await onFloor('C5-R1')).toMatchObject({
      state: 'steady',
      lastSampleAt: '2025-09-03T07:49:00.000Z',
      alarmId: null,
    });
    expect((await onFloor('C5-R1')).lastSentence).toMatch(/^Go on/);
    for (const streamId of ['C6-R1', 'C3-R1']) {
      await app.call('POST /api/samples', {
        body: {
          ...widths(1, { takenAt: at('10:05') }),
          streamId,
          ...(streamId === 'C3-R1'
            ? { unit: '1', readings: undefined, count: { inspected: 50, nonconforming: 0 } }
            : {}),
        },
      });
    }
    app.clock.time = at('10:35');
    expect(await onFloor('C6-R1')).toMatchObject({ state: 'no-limits' });
    expect(await onFloor('C3-R1')).toMatchObject({ state: 'not-charted' });
  });

  it('is idle outside the running hours and while the line stands, and owes no samples then', async () => {
    const now = app.clock.time;
    app.clock.time = at('23:00');
    expect(await onFloor('C6-R1')).toMatchObject({ state: 'idle' });
    app.clock.time = Date.parse('2025-09-06T12:00:00+02:00');
    expect(await onFloor('C6-R1')).toMatchObject({ state: 'idle', missedToday: 0 });
    app.clock.time = now;
    const id = randomUUID();
    await event('stoppage', at('10:20'), { id, text: 'Roll change' });
    expect(await onFloor('C6-R1')).toMatchObject({ state: 'idle' });
    expect((await taskOf('C6-R1')).slots.filter(({ state }) => state === 'upcoming')).toEqual([]);
    await event('stoppage', at('10:20'), {
      id,
      until: new Date(at('10:34')).toISOString(),
      text: 'Roll change',
    });
    expect(await onFloor('C6-R1')).not.toMatchObject({ state: 'idle' });
  });

  it('puts an alarm first, with what is suspect, and tells an open board', async () => {
    const stream = await app.fetch(new Request('http://127.0.0.1/api/stream'));
    const reader = stream.body!.pipeThrough(new TextDecoderStream()).getReader();
    const answer = await enter(128.5, at('10:36'));
    let text = '';
    while (!text.includes('event: alarm')) text += (await reader.read()).value;
    await reader.cancel();

    expect(answer.alarmId).not.toBeNull();
    expect(await onFloor('C5-R1')).toMatchObject({ state: 'alarm', alarmId: answer.alarmId });
    const { alarms } = await app.call('GET /api/floor');
    expect(alarms).toHaveLength(1);
    expect(alarms[0]).toMatchObject({ id: answer.alarmId, streamId: 'C5-R1', state: 'unacknowledged' });
    expect(alarms[0]!.containment.suspectParts).toBeGreaterThan(0);
    expect((await taskOf('C5-R1')).openAlarmId).toBe(answer.alarmId);

    const open = await app.call('GET /api/alarms', { query: { open: 'true', streamId: 'C5-R1' } });
    expect(open.map(({ id }) => id)).toEqual([answer.alarmId]);
    expect(await app.call('GET /api/alarms', { query: { open: 'false' } })).toEqual([]);
    const detail = await app.call('POST /api/alarms/{id}/entries', {
      params: { id: answer.alarmId! },
      body: { id: randomUUID(), kind: 'acknowledged' },
    });
    expect(detail.alarm.state).toBe('acknowledged');
    expect(await app.call('GET /api/alarms/{id}', { params: { id: answer.alarmId! } })).toEqual(detail);
  });

  it('keeps a declared missed sample as missed, with its reason', async () => {
    const missed = await app.call('POST /api/missed-samples', {
      body: { streamId: 'C6-R1', dueAt: '2025-09-03T06:30:00+02:00', reason: 'Gauge at calibration' },
    });
    expect(missed).toMatchObject({ streamId: 'C6-R1', reason: 'Gauge at calibration', personId: 'kim' });
    expect((await taskOf('C6-R1')).slots[0]).toMatchObject({ state: 'declared missed' });
  });
});

describe('the review', () => {
  const review = (query: object = {}) =>
    app.call('GET /api/review', { query: { streamId: 'C5-R1', modelId: 'Q10', ...query } });

  it('gives the newest samples with their signals, limits, events and alarms', async () => {
    const found = await review();
    expect(found.samples).toHaveLength(12);
    expect(found.truncated).toBe(false);
    expect(found.from).toBe(found.samples[0]!.takenAt);
    expect(Date.parse(found.to)).toBe(app.clock.time);
    expect(found.samples.map(({ takenAt }) => takenAt)).toEqual(
      found.samples.map(({ takenAt }) => takenAt).sort(),
    );
    const last = found.samples.at(-1)!;
    expect(found.signals.some(({ sampleId, chart }) => sampleId === last.id && chart === 'location')).toBe(
      true,
    );
    expect(found.limits).toMatchObject([{ version: 1, mean: 127, status: 'approved' }]);
    expect(found.events.map(({ kind }) => kind)).toEqual(['changeover', 'coil', 'changeover', 'stoppage']);
    expect(found.alarms).toMatchObject([{ streamId: 'C5-R1', modelId: 'Q10' }]);
  });

  it('says when the oldest were left out, and then begins with the first that is sent', async () => {
    const found = await review({ limit: 5, from: '2025-09-01T00:00:00Z' });
    expect(found.samples).toHaveLength(5);
    expect(found.truncated).toBe(true);
    expect(found.from).toBe(found.samples[0]!.takenAt);
    expect(found.events.every(({ at: time }) => time >= found.from)).toBe(true);
  });

  it('keeps to the period that is asked for', async () => {
    const found = await review({ from: '2025-09-03T09:40:00+02:00', to: '2025-09-03T09:44:00+02:00' });
    expect(found.samples).toHaveLength(5);
    expect(found).toMatchObject({
      from: '2025-09-03T07:40:00.000Z',
      to: '2025-09-03T07:44:00.000Z',
      events: [],
      signals: [],
    });
    const empty = await review({ from: '2025-08-01T00:00:00Z', to: '2025-08-02T00:00:00Z' });
    expect(empty).toMatchObject({ samples: [], limits: [], truncated: false });
  });

  it('gives the versions of the limits that were in force within the period, and no other', async () => {
    const freeze = (effectiveFrom: number, mean: number) =>
      app.call('POST /api/limits', {
        body: {
          streamId: 'C5-R1',
          modelId: 'Q10',
          status: 'trial',
          source: { kind: 'given', mean, withinSubgroupStandardDeviation: 0.2 },
          effectiveFrom: new Date(effectiveFrom).toISOString(),
          reason: 'Tried',
          secondSignature,
        },
      });
    await freeze(at('10:40'), 127.1);
    const versions = async (from: number, to: number) =>
      (await review({ from: new Date(from).toISOString(), to: new Date(to).toISOString() })).limits.map(
        ({ version }) => version,
      );
    expect(await versions(at('09:00'), at('10:00'))).toEqual([1]);
    expect(await versions(at('09:00'), at('11:00'))).toEqual([1, 2]);
    expect(await versions(at('10:45'), at('11:00'))).toEqual([2]);
    const all = await app.call('GET /api/limits', { query: { streamId: 'C5-R1', modelId: 'Q10' } });
    expect(all.map(({ version }) => version)).toEqual([1, 2]);
  });

  it('asks the store only for the window, however much is stored', async () => {
    const samples = vi.spyOn(app.store, 'samples');
    const taken = vi.spyOn(app.store, 'takenTimes');
    await review();
    await work();
    await app.call('GET /api/floor');
    for (const [, , , limit] of samples.mock.calls) expect(limit).toBeLessThanOrEqual(501);
    for (const [, period] of taken.mock.calls) expect(period.to - period.from).toBeLessThanOrEqual(27 * hour);
    samples.mockRestore();
    taken.mockRestore();
  });
});

describe('samples and their corrections', () => {
  it('shows both values, and gives the same answer to the same sample sent again', async () => {
    const body = widths(127, { takenAt: at('10:39') });
    app.clock.time = at('10:50');
    const first = await app.call('POST /api/samples', { body });
    const count = (await app.call('GET /api/health')).samples;
    expect(await app.call('POST /api/samples', { body })).toEqual(first);
    expect((await app.call('GET /api/health')).samples).toBe(count);

    const corrected = await app.call('POST /api/samples/{id}/corrections', {
      params: { id: body.id },
      body: {
        id: randomUUID(),
        revision: 1,
        readings: body.readings.map(({ value }) => ({ value: value + 0.01 })),
        reason: 'Gauge was not zeroed',
      },
    });
    expect(corrected.revision).toBe(2);
    const history = await app.call('GET /api/samples/{id}', { params: { id: body.id } });
    expect(history.sample.revision).toBe(2);
    expect(history.revisions.map(({ reason }) => reason)).toEqual([null, 'Gauge was not zeroed']);
    expect(history.revisions[0]!.readings![0]!.value).toBe(126.8);
    expect(history.revisions[1]!.readings![0]!.value).toBeCloseTo(126.81, 10);
    const stale = await app.refused('POST /api/samples/{id}/corrections', {
      params: { id: body.id },
      body: { id: randomUUID(), revision: 1, readings: body.readings, reason: 'Again' },
    });
    expect(stale.status).toBe(409);
  });

  it('lists the events of a line in a period', async () => {
    const events = await app.call('GET /api/events', {
      query: { lineId: 'R1', from: '2025-09-03T10:01:00+02:00', to: '2025-09-03T10:02:00+02:00' },
    });
    expect(events.map(({ kind }) => kind)).toEqual(['coil', 'changeover']);
  });
});

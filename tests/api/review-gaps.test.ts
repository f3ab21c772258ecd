/** Samples that a plan asked for and nobody took, in the payload of Review. */
import { randomUUID } from 'node:crypto';
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest';
import { openApp, setLimits, setUpPlant, type TestApp, widths } from './support.ts';

const HOUR = 3_600_000;
/** 3 September 2025 is a Wednesday; samples are due from 06:30 to 21:30 by the hour, local time. */
const at = (day: number, text: string): number =>
  Date.parse(`2025-09-${String(day).padStart(2, '0')}T${text}:00+02:00`);
const iso = (time: number): string => new Date(time).toISOString();

let app: TestApp;
beforeAll(async () => {
  app = openApp();
  await setUpPlant(app);
  await setLimits(app);
});
afterAll(() => app.close());

const enter = (time: number, modelId = 'Q10') => {
  app.clock.time = Math.max(app.clock.time, time);
  return app.call('POST /api/samples', {
    body: { ...widths(modelId === 'Q10' ? 127 : 152.4, { takenAt: time }), modelId },
  });
};
const review = (query: object = {}) =>
  app.call('GET /api/review', { query: { streamId: 'C5-R1', modelId: 'Q10', ...query } });

// The tests below tell a few days and build on each other.
describe('gaps in Review', () => {
  it('are none before a first sample, nor while every planned sample is taken', async () => {
    expect(await review()).toMatchObject({ samples: [], gaps: [] });
    for (const time of ['18:34', '19:31', '20:29', '21:36']) await enter(at(3, time));
    // The night is no gap.
    for (const time of ['06:33', '07:35']) await enter(at(4, time));
    app.clock.time = at(4, '15:00');
    const found = await review();
    expect(found.gaps).toEqual([]);
    expect(found.gapsSince).toBe(iso(at(3, '18:34')));
  });

  it('lie between two samples, whichever model they measured, with the reasons that people gave', async () => {
    await enter(at(4, '08:30'), 'Q12');
    await enter(at(4, '12:31'), 'Q12');
    await enter(at(4, '13:32'));
    const reason = 'Gauge at calibration';
    await app.call('POST /api/missed-samples', {
      body: { streamId: 'C5-R1', dueAt: iso(at(4, '10:30')), reason },
    });
    const { gaps } = await review();
    expect(gaps).toMatchObject([
      {
        before: iso(at(4, '08:30')),
        after: iso(at(4, '12:31')),
        firstDueAt: iso(at(4, '09:30')),
        lastDueAt: iso(at(4, '11:30')),
        missing: 3,
        declared: [{ dueAt: iso(at(4, '10:30')), reason, personId: 'kim' }],
      },
    ]);
  });

  it('leave out what was due while the line stood', async () => {
    app.clock.time = at(4, '16:00');
    await app.call('POST /api/events', {
      body: {
        id: randomUUID(),
        lineId: 'R1',
        stationId: null,
        streamId: null,
        kind: 'stoppage',
        at: iso(at(4, '14:00')),
        until: iso(at(4, '15:45')),
        modelId: null,
        lot: null,
        text: 'Roll change',
      },
    });
    await enter(at(4, '17:30'));
    const { gaps } = await review();
    expect(gaps[1]).toMatchObject({ missing: 1, firstDueAt: iso(at(4, '16:30')), declared: [] });
    expect(gaps).toHaveLength(2);
  });

  it('reach over the edge of a period, and end with the newest sample or declaration', async () => {
    const inside = await review({ from: iso(at(4, '11:00')), to: iso(at(4, '13:00')) });
    expect(inside.gaps).toMatchObject([{ before: iso(at(4, '08:30')), missing: 3 }]);
    expect((await review({ from: iso(at(4, '13:00')), to: iso(at(4, '14:00')) })).gaps).toEqual([]);
    app.clock.time = at(5, '12:00');
    expect((await review()).gaps).toHaveLength(2);
    await app.call('POST /api/missed-samples', {
      body: { streamId: 'C5-R1', dueAt: iso(at(4, '19:30')), reason: 'Nobody there' },
    });
    expect((await review()).gaps.at(-1)).toMatchObject({
      before: iso(at(4, '17:30')),
      after: null,
      missing: 2,
      declared: [{ reason: 'Nobody there' }],
    });
  });

  it('are looked for in 60 days back from the newest sample, however long the period', async () => {
    app.clock.time = at(5, '13:00') + 100 * 24 * HOUR;
    const newest = at(5, '13:00') + 70 * 24 * HOUR;
    await enter(newest);
    const taken = vi.spyOn(app.store, 'takenTimes');
    const found = await review({ from: '2020-01-01T00:00:00Z' });
    expect(found.gapsSince).toBe(iso(newest - 60 * 24 * HOUR));
    for (const gap of found.gaps) expect(gap.after! >= found.gapsSince!).toBe(true);
    for (const [, period] of taken.mock.calls)
      expect(period.from).toBeGreaterThanOrEqual(newest - 60 * 24 * HOUR);
    taken.mockRestore();
  });
});

describe('signals of Review', () => {
  it('belong to a closed alarm with a cause only once it is closed', async () => {
    const time = app.clock.time;
    const { alarmId, signals } = await enterMean(128.5, time);
    expect(signals.length).toBeGreaterThan(0);
    const entry = (body: object) =>
      app.call('POST /api/alarms/{id}/entries', {
        params: { id: alarmId! },
        body: { id: randomUUID(), ...body } as never,
      });
    await entry({ kind: 'acknowledged' });
    await entry({ kind: 'cause', text: 'Worn pin' });
    await entry({ kind: 'decision', decision: 'adjust', text: 'Pin changed' });
    expect((await review()).explainedSignals).toEqual([]);
    await entry({ kind: 'closed', text: 'Five fresh pieces at the center line' });
    expect((await review()).explainedSignals).toEqual(signals.map(({ id }) => id));
  });
});

const enterMean = (mean: number, takenAt: number) =>
  app.call('POST /api/samples', { body: widths(mean, { takenAt }) });

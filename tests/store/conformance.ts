/** What every engine has to do, whatever it keeps the plant in. */
import { randomUUID } from 'node:crypto';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { verifyChain } from '../../api/audit/verify-chain.ts';
import { concessions, entriesOfConcession } from '../../api/concessions/concession-records.ts';
import { handovers, latestHandoverAt, waitingOf } from '../../api/handovers/handover-records.ts';
import { createMonitoring } from '../../api/monitoring/monitoring.ts';
import { createChangeFeed } from '../../api/notify/change-feed.ts';
import type { SampleAnswer } from '../../api/schemas.ts';
import type {
  AlarmRow,
  EventRow,
  LimitsRow,
  MeasuredValues,
  NewRevision,
  NewSample,
  NewSignal,
  PlantChangeRow,
  Store,
} from '../../api/store/store.ts';
import { uuidBytes } from '../../api/store/uuid.ts';
import {
  freezeGiven,
  minutes,
  morning,
  openTestPlant,
  refusal,
  type TestPlant,
  take,
  tech,
  widths,
} from '../api/test-plant.ts';
import type { TestDatabase } from './engines.ts';

export interface Engine {
  readonly newDatabase: () => TestDatabase;
  /** A database that can be made to refuse every write, and to take them again. */
  readonly refusing: () => Promise<{
    readonly database: TestDatabase;
    refuse(store: Store): Promise<void>;
    allow(store: Store): Promise<void>;
  }>;
}

const wide = { from: 0, to: Number.MAX_SAFE_INTEGER };
const answer = (id: string): SampleAnswer =>
  ({ sampleId: id, verdict: { level: 'stored' } }) as unknown as SampleAnswer;

const values = (changes: Partial<MeasuredValues> = {}): MeasuredValues => ({
  readings: [{ value: 127.1 }, { value: 0.1 + 0.2 }],
  count: null,
  size: 2,
  mean: 63.7,
  range: 0.1 + 0.2,
  standardDeviation: 1e-300,
  questions: [],
  outsideSpecification: [],
  ...changes,
});

const sample = (changes: Partial<NewSample> = {}): NewSample => {
  const id = changes.id ?? randomUUID();
  return {
    id,
    streamId: 'width',
    modelId: 'Q10',
    takenAt: morning,
    storedAt: morning + 1000,
    personId: 'tech',
    door: 'page',
    lot: null,
    note: '',
    values: values(),
    answer: answer(id),
    ...changes,
  };
};

const signal = (changes: Partial<NewSignal> & Pick<NewSignal, 'id' | 'sampleId'>): NewSignal => ({
  streamId: 'width',
  modelId: 'Q10',
  takenAt: morning,
  limitsVersion: 1,
  chart: 'location',
  rule: 'one-beyond-three-sigma',
  side: 'above',
  points: [changes.sampleId],
  firstPointAt: morning,
  sentence: 'A mean above its limit.',
  alarmId: null,
  at: morning,
  ...changes,
});

const head = (changes: Partial<Omit<AlarmRow, 'id'>> = {}): Omit<AlarmRow, 'id'> => ({
  streamId: 'width',
  modelId: 'Q10',
  state: 'unacknowledged',
  active: true,
  raisedAt: morning,
  acknowledgedAt: null,
  returnedToNormalAt: null,
  closedAt: null,
  decision: null,
  cause: null,
  sentence: 'A mean above its limit.',
  ...changes,
});

const limits = (changes: Partial<LimitsRow> = {}): LimitsRow => ({
  streamId: 'width',
  modelId: 'Q10',
  version: 1,
  status: 'approved',
  mean: 127,
  withinSubgroupStandardDeviation: 0.2,
  meanStandardDeviation: null,
  method: 'given',
  baselineFrom: null,
  baselineTo: null,
  subgroupsUsed: 0,
  readingsUsed: 0,
  effectiveFrom: morning,
  reason: 'Machine study',
  signalsExplained: false,
  personId: 'engineer',
  secondPersonId: null,
  at: morning,
  ...changes,
});

const event = (changes: Partial<EventRow> = {}): EventRow => ({
  id: randomUUID(),
  lineId: 'R1',
  stationId: null,
  streamId: null,
  kind: 'note',
  at: morning,
  until: null,
  modelId: null,
  lot: null,
  text: 'Säge "neu" — 3 µm',
  personId: 'tech',
  recordedAt: morning,
  ...changes,
});

const change = (changes: Partial<PlantChangeRow> = {}): PlantChangeRow => ({
  kind: 'plant',
  id: 'plant',
  before: null,
  after: { name: 'Test works', utcOffsetMinutes: 0 },
  reason: '',
  personId: 'engineer',
  secondPersonId: null,
  at: morning,
  ...changes,
});

const missed = { streamId: 'width', dueAt: morning, reason: 'x', personId: 'tech', at: morning };

export function conforms({ newDatabase, refusing }: Engine): void {
  describe('each method', () => {
    let database: TestDatabase;
    let store: Store;
    beforeEach(() => {
      database = newDatabase();
      store = database.open();
    });
    afterEach(async () => {
      await store.close();
      database.remove();
    });

    /** Stores a sample and gives it back as it was given. */
    const stored = async (changes: Partial<NewSample> = {}): Promise<NewSample & { no: number }> => {
      const one = sample(changes);
      return { ...one, no: await store.transaction((to) => to.addSample(one), [one.streamId]) };
    };
    const revise = (of: NewSample, revision: number, changes: Partial<MeasuredValues>): NewRevision => ({
      id: randomUUID(),
      sampleId: of.id,
      revision,
      reason: 'slip of the pen',
      personId: 'tech',
      at: morning + revision,
      values: values(changes),
      answer: answer(`${of.id} ${revision}`),
    });

    it('begins empty', async () => {
      expect(await store.plantRevision()).toBe(0);
      expect((await store.plantModel()).streams).toEqual([]);
      expect(await store.sampleCount()).toBe(0);
      expect(await store.sample(randomUUID())).toBeNull();
      expect(await store.acceptedAnswer(randomUUID())).toBeNull();
      expect(await store.newestAnswer(randomUUID())).toBeNull();
      expect(await store.revisions(randomUUID())).toEqual([]);
      expect(await store.correction(randomUUID())).toBeNull();
      expect(await store.limitsAt('width', 'Q10', morning)).toBeNull();
      expect(await store.event(randomUUID())).toBeNull();
      expect(await store.latestEvent('R1', 'coil', morning)).toBeNull();
      expect(await store.latestSample('width')).toBeNull();
      expect(await store.alarm(1)).toBeNull();
      expect(await store.openAlarm('width', 'Q10')).toBeNull();
      expect(await store.alarmEntry(randomUUID())).toBeNull();
      expect(await store.missedSample('width', 1)).toBeNull();
      expect(await store.lastGoodSample('width', 'Q10', wide, 0)).toBeNull();
      expect(await store.signalSpanOfAlarm(1)).toEqual({ count: 0, firstPointAt: null, lastAt: null });
      expect(await store.outsideSpanOfAlarm(1)).toEqual({ count: 0, firstAt: null, lastAt: null });
    });

    it('keeps the plant as it is, and every change in its order', async () => {
      const names = ['b', 'a', 'ä', 'B', '10', '9'];
      for (const id of names) {
        await store.transaction((to) =>
          to.savePlantRecord(change({ kind: 'models', id, after: { id, name: id } })),
        );
      }
      const before = await store.plantRevision();
      const again = change({ kind: 'models', id: 'a', before: { id: 'a' }, after: { id: 'a', name: 'A' } });
      await store.transaction((to) => to.savePlantRecord(again));
      expect(await store.plantRevision()).toBeGreaterThan(before);
      const { models } = await store.plantModel();
      // By the bytes of their ids, on every engine and in every country.
      expect(models.map(({ id }) => id)).toEqual(['10', '9', 'B', 'a', 'b', 'ä']);
      expect(models.find(({ id }) => id === 'a')?.name).toBe('A');
      const changes = await store.plantChanges('models', 'a');
      expect(changes).toHaveLength(2);
      expect(changes[1]).toEqual(again);
      expect(await store.plantChanges('lines', 'a')).toEqual([]);
    });

    it('gives a sample back to the last bit, by its id in either case', async () => {
      const one = await stored({
        lot: 'L7',
        note: 'Ω — "quoted" \n second line',
        values: values({
          readings: [{ value: 127.1, firstValue: 12.71 }, { value: Number.MIN_VALUE }, { value: -0.1 }],
          questions: [{ position: 0, kind: 'x' }] as never,
          outsideSpecification: [1, 2],
        }),
      });
      const { answer: given, values: measured, ...rest } = one;
      const expected = { ...rest, ...measured, revision: 1, limitsVersion: null };
      expect(await store.sample(one.id)).toEqual(expected);
      expect(await store.sample(one.id.toUpperCase())).toEqual(expected);
      expect(await store.acceptedAnswer(one.id)).toEqual(given);
      expect(await store.newestAnswer(one.id)).toEqual(given);
      expect(await store.sampleIds([one.no])).toEqual([one.id]);
      expect(await store.latestSample('width')).toBeNull();
    });

    it('gives a count back', async () => {
      const counted = values({
        readings: null,
        count: { inspected: 300, nonconforming: 2 },
        size: 0,
        mean: null,
      });
      const one = await stored({ values: counted });
      expect(await store.sample(one.id)).toMatchObject({ ...counted });
    });

    it('numbers samples in the order of arrival, and orders them by time and arrival', async () => {
      const times = [3, 1, 2, 2].map((minute) => morning + minutes(minute));
      const rows: (NewSample & { no: number })[] = [];
      for (const takenAt of times) rows.push(await stored({ takenAt }));
      const nos = rows.map(({ no }) => no);
      expect([...nos].sort((a, b) => a - b)).toEqual(nos);
      expect(await store.sampleCount()).toBe(4);
      const inOrder = [nos[1], nos[2], nos[3], nos[0]];
      const nosOf = (found: readonly { no: number }[]) => found.map(({ no }) => no);
      expect(nosOf(await store.samples('width', 'Q10', wide, 9))).toEqual(inOrder);
      expect(nosOf(await store.samples('width', 'Q10', wide, 2))).toEqual(inOrder.slice(2));
      expect(nosOf(await store.chartedSamples('width', 'Q10', wide, 3))).toEqual(inOrder.slice(1));
      expect(nosOf(await store.newestCharted('width', 'Q10', 2))).toEqual(inOrder.slice(2));
      const between = { from: times[1]!, to: times[2]! };
      expect(nosOf(await store.samples('width', 'Q10', between, 9))).toEqual(inOrder.slice(0, 3));
      const middle = { takenAt: times[2]!, no: nos[2]! };
      expect(nosOf(await store.chartedSamplesBefore('width', 'Q10', middle, 9))).toEqual([nos[1]]);
      expect(nosOf(await store.chartedSamplesAfter('width', 'Q10', middle, 9))).toEqual([nos[3], nos[0]]);
      expect(nosOf(await store.chartedSamplesAfter('width', 'Q10', middle, 1))).toEqual([nos[3]]);
      const unstored = { takenAt: times[2]!, no: Number.MAX_SAFE_INTEGER };
      expect(nosOf(await store.chartedSamplesBefore('width', 'Q10', unstored, 2))).toEqual([nos[2], nos[3]]);
      expect(await store.samples('width', 'Q12', wide, 9)).toEqual([]);
      expect(await store.samples('force', 'Q10', wide, 9)).toEqual([]);
    });

    it('finds samples of any year, and keeps an id to one sample over all of them', async () => {
      const years = [1991, 2024, 2025, 2031].map((year) => Date.UTC(year, 5, 30, 23, 59, 59, 999));
      const rows: (NewSample & { no: number })[] = [];
      for (const takenAt of years) rows.push(await stored({ takenAt }));
      expect((await store.samples('width', 'Q10', wide, 9)).map(({ takenAt }) => takenAt)).toEqual(years);
      expect((await store.sample(rows[0]!.id))?.takenAt).toBe(years[0]);
      const twice = store.transaction((to) => to.addSample(sample({ id: rows[0]!.id })), ['width']);
      await expect(twice).rejects.toThrow();
      expect(await store.sampleCount()).toBe(4);
    });

    it('finds models, times and lots of a stream', async () => {
      for (const id of ['Q10', 'Q12']) {
        const after = { id, name: id };
        await store.transaction((to) => to.savePlantRecord(change({ kind: 'models', id, after })));
      }
      const first = await stored({ modelId: 'Q12', takenAt: morning + 5, lot: 'L2' });
      const second = await stored({ takenAt: morning + 9, lot: 'L1' });
      await stored({ takenAt: morning + 7 });
      expect(await store.takenTimes('width', { from: morning, to: morning + 7 })).toMatchObject([
        { sampleId: first.id, modelId: 'Q12', takenAt: morning + 5 },
        { modelId: 'Q10', takenAt: morning + 7 },
      ]);
      expect((await store.latestSample('width'))?.id).toBe(second.id);
      expect(await store.lotsOfSamples('width', 'Q10', wide)).toEqual([{ lot: 'L1', takenAt: morning + 9 }]);
    });

    it('reads a sample by its newest revision, and keeps every one', async () => {
      const one = await stored();
      const other = await stored({ takenAt: morning + 1 });
      const second = revise(one, 2, { mean: 2, outsideSpecification: [0] });
      const third = revise(one, 3, { mean: 3 });
      for (const revision of [second, third]) {
        await store.transaction((to) => to.addRevision(revision), ['width']);
      }
      expect(await store.sample(one.id)).toMatchObject({ revision: 3, mean: 3, outsideSpecification: [] });
      expect(await store.newestAnswer(one.id)).toEqual(third.answer);
      expect(await store.acceptedAnswer(one.id)).toEqual(one.answer);
      const revisions = await store.revisions(one.id);
      expect(revisions.map(({ revision, mean, reason }) => [revision, mean, reason])).toEqual([
        [1, 63.7, null],
        [2, 2, 'slip of the pen'],
        [3, 3, 'slip of the pen'],
      ]);
      const { values: measured, answer: given } = second;
      expect(await store.correction(second.id)).toEqual({
        ...measured,
        sampleId: one.id,
        revision: 2,
        reason: second.reason,
        answer: given,
      });
      for (const rows of [
        await store.chartedSamples('width', 'Q10', wide, 9),
        await store.newestCharted('width', 'Q10', 9),
        await store.samples('width', 'Q10', wide, 9),
        await store.chartedSamplesBefore('width', 'Q10', { takenAt: morning + 2, no: 0 }, 9),
        await store.chartedSamplesAfter('width', 'Q10', { takenAt: 0, no: 0 }, 9),
      ]) {
        expect(rows.map(({ no, mean }) => [no, mean])).toEqual([
          [one.no, 3],
          [other.no, 63.7],
        ]);
      }
      const twice = store.transaction((to) => to.addRevision({ ...third, revision: 4 }), ['width']);
      await expect(twice).rejects.toThrow();
      const missing = { ...third, id: randomUUID(), sampleId: randomUUID() };
      await expect(store.transaction((to) => to.addRevision(missing), ['width'])).rejects.toThrow();
    });

    it('takes the highest version of the limits that holds', async () => {
      const versions = [
        limits(),
        limits({ version: 2, effectiveFrom: morning + 100, signalsExplained: true, baselineFrom: 1 }),
        limits({ version: 3, effectiveFrom: morning + 50, meanStandardDeviation: 0.1 }),
      ];
      for (const version of versions) await store.transaction((to) => to.addLimits(version), ['width']);
      expect(await store.limitsVersions('width', 'Q10')).toEqual(versions);
      expect(await store.limitsAt('width', 'Q10', morning - 1)).toBeNull();
      expect((await store.limitsAt('width', 'Q10', morning + 49))?.version).toBe(1);
      expect((await store.limitsAt('width', 'Q10', morning + 100))?.version).toBe(3);
      const one = await stored({ takenAt: morning + 60 });
      expect((await store.sample(one.id))?.limitsVersion).toBe(3);
      const grounds = await store.groundsFor(one.id, 'width', 'Q10', morning);
      expect(grounds).toMatchObject({ earlierAnswer: one.answer, limits: versions[0], activeAlarmId: null });
      await expect(store.transaction((to) => to.addLimits(versions[0]!), ['width'])).rejects.toThrow();
    });

    it('keeps signals, and withdraws each once', async () => {
      const [one, two] = [await stored(), await stored({ takenAt: morning + 1 })];
      const alarmId = await store.transaction((to) => to.addAlarm(head()), ['width']);
      const ids = await store.transaction(
        async (to) => {
          const given = await to.newSignalIds(3);
          await to.addSignal(signal({ id: given[0]!, sampleId: one.id, alarmId }));
          const points = [one.id, two.id];
          const takenAt = morning + 1;
          await to.addSignal(signal({ id: given[1]!, sampleId: two.id, alarmId, takenAt, points }));
          await to.addSignal(
            signal({ id: given[2]!, sampleId: two.id, takenAt, rule: 'run-on-one-side', side: 'below' }),
          );
          return given;
        },
        ['width'],
      );
      expect(new Set(ids).size).toBe(3);
      expect([...ids].sort((a, b) => a - b)).toEqual(ids);
      expect((await store.signals('width', 'Q10', wide)).map(({ id }) => id)).toEqual(ids);
      expect(await store.signals('width', 'Q10', { from: 0, to: morning })).toHaveLength(1);
      expect(await store.signalsOfSample(two.id)).toMatchObject([
        { id: ids[1], sampleNo: two.no, sampleId: two.id, points: [one.id, two.id], withdrawnAt: null },
        { id: ids[2], alarmId: null, side: 'below' },
      ]);
      expect((await store.signalsOfAlarm(alarmId)).map(({ id }) => id)).toEqual(ids.slice(0, 2));
      const span = { count: 2, firstPointAt: morning, lastAt: morning + 1 };
      expect(await store.signalSpanOfAlarm(alarmId)).toEqual(span);
      const withdraw = (index: number, by: 'limits' | 'correction', at: number) =>
        store.transaction((to) => to.withdrawSignal(ids[index]!, at, { by, because: by }), ['width']);
      await withdraw(0, 'limits', 5);
      await withdraw(1, 'correction', 6);
      await withdraw(1, 'limits', 7);
      expect(await store.signalsOfAlarm(alarmId)).toMatchObject([
        { withdrawnAt: 5, withdrawnBecause: 'limits' },
        { withdrawnAt: 6, withdrawnBecause: 'correction' },
      ]);
      // Judging anew checks no part, a correction does.
      const left = { count: 2, firstPointAt: morning, lastAt: morning };
      expect(await store.signalSpanOfAlarm(alarmId)).toEqual(left);
      const stray = signal({ id: ids[0]! + 100, sampleId: randomUUID() });
      await expect(store.transaction((to) => to.addSignal(stray), ['width'])).rejects.toThrow();
    });

    it('tells samples verified good from others', async () => {
      const [good, doubted, outside, corrected, signalled] = [
        await stored(),
        await stored({ takenAt: morning + 1, values: values({ questions: [{}] as never }) }),
        await stored({ takenAt: morning + 2, values: values({ outsideSpecification: [0] }) }),
        await stored({ takenAt: morning + 3, values: values({ outsideSpecification: [0] }) }),
        await stored({ takenAt: morning + 4 }),
      ];
      await store.transaction((to) => to.addRevision(revise(corrected, 2, {})), ['width']);
      await store.transaction(
        async (to) => {
          const [id] = await to.newSignalIds(1);
          await to.addSignal(signal({ id: id!, sampleId: signalled.id, takenAt: morning + 4 }));
        },
        ['width'],
      );
      expect(doubted.no).toBeLessThan(outside.no);
      const place = (one: typeof good) => ({ no: one.no, id: one.id, takenAt: one.takenAt });
      expect(await store.lastGoodSample('width', 'Q10', wide, morning)).toEqual(place(corrected));
      expect(await store.firstGoodSample('width', 'Q10', wide, morning)).toEqual(place(good));
      const after = { from: morning + 1, to: morning + 9 };
      expect(await store.firstGoodSample('width', 'Q10', after, morning)).toEqual(place(corrected));
    });

    it('keeps one open alarm a stream and model, with all its entries', async () => {
      const first = await store.transaction((to) => to.addAlarm(head()), ['width']);
      await expect(store.transaction((to) => to.addAlarm(head()), ['width'])).rejects.toThrow();
      const other = await store.transaction((to) => to.addAlarm(head({ modelId: 'Q12' })), ['width']);
      expect(await store.openAlarm('width', 'Q10')).toEqual({ id: first, ...head() });
      const entry = {
        alarmId: first,
        id: randomUUID(),
        kind: 'closed',
        at: morning + 5,
        personId: 'supervisor',
        text: 'done',
        decision: null,
        countedParts: 7,
        containment: null,
        secondPersonId: null,
      } as const;
      const closed = head({ state: 'closed', active: false, closedAt: morning + 5, cause: 'wear' });
      await store.transaction((to) => to.addAlarmEntry(entry, { id: first, ...closed }), ['width']);
      expect(await store.openAlarm('width', 'Q10')).toBeNull();
      expect(await store.alarm(first)).toEqual({ id: first, ...closed });
      expect(await store.alarmEntry(entry.id)).toEqual(entry);
      expect(await store.alarmEntries(first)).toEqual([entry]);
      const third = await store.transaction((to) => to.addAlarm(head({ raisedAt: morning + 9 })), ['width']);
      const idsOf = async (query: object) => (await store.alarms({ limit: 9, ...query })).map(({ id }) => id);
      expect(await idsOf({})).toEqual([third, other, first]);
      expect(await idsOf({ open: true })).toEqual([third, other]);
      expect(await idsOf({ open: false })).toEqual([first]);
      expect(await idsOf({ modelId: 'Q10' })).toEqual([third, first]);
      expect(await idsOf({ streamId: 'force' })).toEqual([]);
      expect(await idsOf({ period: { from: morning, to: morning } })).toEqual([other, first]);
      expect(await idsOf({ limit: 1 })).toEqual([third]);
      expect((await store.groundsFor(randomUUID(), 'width', 'Q10', 1)).activeAlarmId).toBe(third);
    });

    it('counts what is outside by the newest revision', async () => {
      const alarmId = await store.transaction((to) => to.addAlarm(head()), ['width']);
      const [one, two] = [await stored(), await stored({ takenAt: morning + 1 })];
      await store.transaction(
        async (to) => {
          await to.addOutsideSample(alarmId, one.id, 1);
          await to.addOutsideSample(alarmId, two.id, 1);
        },
        ['width'],
      );
      const span = async () => store.outsideSpanOfAlarm(alarmId);
      expect(await span()).toEqual({ count: 2, firstAt: morning, lastAt: morning + 1 });
      await store.transaction(
        async (to) => {
          await to.keepOutsideSample(one.id, 2);
          await to.addRevision(revise(one, 2, {}));
          await to.addRevision(revise(two, 2, {}));
        },
        ['width'],
      );
      expect(await span()).toEqual({ count: 1, firstAt: morning, lastAt: morning });
    });

    it('keeps events, and the end of a stoppage', async () => {
      const [coil, stoppage, note, later] = [
        event({ kind: 'coil', lot: 'L1', streamId: 'width', stationId: 'R1-RIM' }),
        event({ kind: 'stoppage', at: morning + 10 }),
        event({ at: morning + 20, modelId: 'Q10' }),
        event({ kind: 'coil', at: morning + 30, until: null }),
      ];
      for (const one of [later, coil, stoppage, note]) {
        await store.transaction((to) => to.addEvent(one), ['']);
      }
      expect(await store.event(coil.id)).toEqual(coil);
      const idsOf = (rows: readonly EventRow[]) => rows.map(({ id }) => id);
      const all = [coil, stoppage, note, later].map(({ id }) => id);
      expect(idsOf(await store.events('R1', wide))).toEqual(all);
      const late = { from: morning + 15, to: morning + 30 };
      expect(idsOf(await store.events('R1', late))).toEqual([stoppage.id, note.id, later.id]);
      await store.transaction((to) => to.endEvent(stoppage.id, morning + 12, 'tech', morning + 13), ['']);
      expect((await store.event(stoppage.id))?.until).toBe(morning + 12);
      expect(idsOf(await store.events('R1', late))).toEqual([note.id, later.id]);
      expect(await store.events('R2', wide)).toEqual([]);
      expect((await store.latestEvent('R1', 'coil', morning + 29))?.id).toBe(coil.id);
      expect((await store.latestEvent('R1', 'coil', morning + 30))?.id).toBe(later.id);
      const twice = store.transaction((to) => to.addEvent({ ...coil, at: Date.UTC(2020, 1) }), ['']);
      await expect(twice).rejects.toThrow();
      const again = store.transaction((to) => to.endEvent(stoppage.id, 1, 'tech', 1), ['']);
      await expect(again).rejects.toThrow();
    });

    it('keeps what was missed once', async () => {
      await store.transaction(
        async (to) => {
          await to.addMissedSample({ ...missed, dueAt: 2 });
          await to.addMissedSample({ ...missed, dueAt: 1 });
        },
        ['width'],
      );
      expect(await store.missedSample('width', 1)).toEqual({ ...missed, dueAt: 1 });
      const due = (await store.missedSamples('width', { from: 1, to: 2 })).map(({ dueAt }) => dueAt);
      expect(due).toEqual([1, 2]);
      const twice = store.transaction((to) => to.addMissedSample({ ...missed, dueAt: 1 }), ['width']);
      await expect(twice).rejects.toThrow();
    });

    it('keeps notes under the audit chain', async () => {
      const note = { at: 1, personId: null, what: 'signed in', about: 'tech', detail: { from: 'here' } };
      await store.transaction((to) => to.addNote(note), ['']);
      await store.transaction((to) => to.addNote(note));
      const chained = await store.sql.all<{ no: number }>(
        'select no from audit_entries where chain = ? order by no',
        '',
      );
      expect(chained.map(({ no }) => no)).toEqual([1, 2]);
    });

    it('reads within a transaction what it has written, through the shared SQL as well', async () => {
      await store.transaction(
        async (to) => {
          const one = sample();
          const no = await to.addSample(one);
          expect(await to.sample(one.id)).toMatchObject({ no, mean: 63.7 });
          expect(await to.newestCharted('width', 'Q10', 3)).toHaveLength(1);
          expect(await to.sql.one('select size, mean from samples where no = ?', no)).toEqual({
            size: 2,
            mean: 63.7,
          });
          expect(await store.sample(one.id)).toBeNull();
          await to.sql.run('update samples set note = ? where no = ?', "it's", no);
          expect((await to.sample(one.id))?.note).toBe("it's");
          expect(await to.sql.one('select no from samples where no = ?', -1)).toBeNull();
        },
        ['width'],
      );
      const counted = await store.sql.one<{ count: number }>('select count(*) as count from samples');
      expect(counted).toEqual({ count: 1 });
    });
  });

  describe('a transaction', () => {
    let plant: TestPlant;
    beforeEach(async () => {
      plant = await openTestPlant(newDatabase());
    });
    afterEach(() => plant.close());

    it('leaves nothing when it fails, and the next one goes on', async () => {
      for (const streams of [undefined, ['width']]) {
        const work = plant.store.transaction(async (store) => {
          await store.addMissedSample(missed);
          await store.addSample(sample());
          throw new Error('fails afterwards');
        }, streams);
        await expect(work).rejects.toThrow('fails afterwards');
      }
      expect(await plant.store.missedSamples('width', wide)).toEqual([]);
      expect(await plant.store.sampleCount()).toBe(0);
      await plant.store.transaction((store) => store.addMissedSample(missed));
      expect(await plant.store.missedSamples('width', wide)).toHaveLength(1);
    });

    it('leaves nothing when a statement in it fails, though the error is caught', async () => {
      const work = plant.store.transaction(
        async (store) => {
          await store.addMissedSample({ ...missed, dueAt: 7 });
          await store.addMissedSample(missed);
          await store.addMissedSample(missed);
        },
        ['width'],
      );
      await expect(work).rejects.toThrow();
      expect(await plant.store.missedSamples('width', wide)).toEqual([]);
    });

    it('runs alone on its stream, and is not seen before it is stored', async () => {
      let running = 0;
      const one = (dueAt: number, streams?: readonly string[]) =>
        plant.store.transaction(async (store) => {
          running += 1;
          await store.addMissedSample({ ...missed, dueAt });
          await new Promise(setImmediate);
          expect(running).toBe(1);
          const outside = (await plant.store.missedSamples('width', wide)).length;
          expect(await store.missedSamples('width', wide)).toHaveLength(outside + 1);
          running -= 1;
        }, streams);
      await Promise.all([1, 2, 3, 4, 5, 6].map((due) => one(due, due % 2 === 0 ? ['width'] : undefined)));
      expect(await plant.store.missedSamples('width', wide)).toHaveLength(6);
    });

    it('forgets a change of the plant that was not stored', async () => {
      const name = { name: 'Other works', utcOffsetMinutes: 0 };
      const work = plant.store.transaction(async (store) => {
        await store.savePlantRecord(change({ after: name }));
        expect((await store.plantModel()).plant).toEqual(name);
        throw new Error('fails afterwards');
      });
      await expect(work).rejects.toThrow('fails afterwards');
      expect((await plant.store.plantModel()).plant.name).toBe('Test works');
      await take(plant, 127, morning);
      expect((await plant.store.plantModel()).plant.name).toBe('Test works');
    });
  });

  describe('what the store remembers between samples', () => {
    let plant: TestPlant;
    let database: TestDatabase;
    beforeEach(async () => {
      database = newDatabase();
      plant = await openTestPlant(database);
    });
    afterEach(() => plant.close());

    it('never outlives a transaction that failed, nor a sample that somebody else wrote', async () => {
      await freezeGiven(plant);
      for (let index = 0; index < 7; index++) await take(plant, 127.1, morning + minutes(index));
      const refused = [widths(127.1, morning + minutes(7)), widths(127, morning, { unit: 'in' })];
      await refusal(plant.monitoring.acceptAll(refused.reverse(), tech), 422, 'samples.0.unit');
      const late = [
        widths(127.1, morning + minutes(4)),
        widths(127.1, morning + minutes(5), { modelId: 'Q14' }),
      ];
      await refusal(plant.monitoring.acceptAll(late, tech), 422, 'samples.1.modelId');
      expect((await take(plant, 127.1, morning + minutes(8))).signals).toEqual([]);

      // A second node on the same database.
      const second = database.open();
      const elsewhere = createMonitoring({ store: second, clock: plant.clock, feed: createChangeFeed() });
      plant.clock.time = morning + minutes(9);
      const { answer: given } = await elsewhere.accept(widths(127.1, morning + minutes(9)), tech);
      expect(given.signals.map(({ rule }) => rule)).toEqual(['run-on-one-side']);
      const next = await take(plant, 127.1, morning + minutes(10));
      expect(next.signals[0]?.points.at(-2)).toBe(given.sampleId);
      expect(next.alarmId).toBe(given.alarmId);
      // And a change of the plant made there.
      await second.transaction((store) =>
        store.savePlantRecord(change({ after: { name: 'Moved works', utcOffsetMinutes: 0 } })),
      );
      const name = await plant.store.transaction(
        async (store) => (await store.plantModel()).plant.name,
        ['width'],
      );
      expect(name).toBe('Moved works');
      await second.close();
    });
  });

  describe('the database', () => {
    it('is the same after a restart: answers, signals, alarms, limits', async () => {
      const plant = await openTestPlant(newDatabase());
      await freezeGiven(plant);
      const submission = widths(130, morning);
      const { answer: given } = await plant.monitoring.accept(submission, tech);
      const read = async () => [
        await plant.store.samples('width', 'Q10', wide, 10),
        await plant.store.signals('width', 'Q10', wide),
        await plant.store.alarms({ limit: 9 }),
        await plant.store.limitsVersions('width', 'Q10'),
      ];
      const before = await read();
      await plant.reopen();
      expect(await read()).toEqual(before);
      expect(await plant.monitoring.accept(submission, tech)).toEqual({ answer: given, repeated: true });
      await plant.close();
    });

    it('keeps handovers and concessions as they were written, one end each, with every digit', async () => {
      const database = newDatabase();
      const plant = await openTestPlant(database);
      const open = { at: 'now', since: 'then', sections: [] };
      const own = (personId: string) => ({ id: uuidBytes(randomUUID()), person_id: personId, at: morning });
      const [raised, given, granted] = await plant.store.transaction(async (to) => {
        const handover = { ...own('engineer'), open: JSON.stringify(open), words: 'Säge "neu" — 3 µm' };
        const handover_no = await to.addNumbered('handovers', handover);
        await to.addNumbered('handovers', { ...own('tech'), open: JSON.stringify(open), words: '' });
        const end = { ...own('tech'), handover_no, kind: 'taken', words: '', opened_since: '[]' };
        await to.addNumbered('handover_ends', end);
        const alarmId = await to.addAlarm(head());
        const concession_no = await to.addNumbered('concessions', {
          ...own('engineer'),
          alarm_id: alarmId,
          customer: 'Customer 1',
          consent_document: 'Letter 7',
          consented_by: 'Their quality desk',
          consented_on: '2025-09-03',
          quantity: 1e9,
          expires_on: '2025-10-31',
          expires_at: morning + minutes(60_000),
          reason: 'No function there',
        });
        const released = { ...own('engineer'), concession_no, kind: 'released', text: 'Trolley' };
        await to.addNumbered('concession_entries', { ...released, quantity: 400 });
        return [alarmId, handover_no, concession_no] as const;
      });
      const { sql } = plant.store;
      const [second, first] = await handovers(sql, { limit: 9 });
      expect(first).toMatchObject({ no: given, open, words: 'Säge "neu" — 3 µm', end: { kind: 'taken' } });
      expect(await handovers(sql, { state: 'waiting', limit: 9 })).toEqual([second]);
      expect(await waitingOf(sql, 'tech')).toEqual(second);
      expect(await handovers(sql, { after: given, limit: 9 })).toEqual([second]);
      expect(await latestHandoverAt(sql, morning)).toBe(morning);
      expect(await latestHandoverAt(sql, morning - 1)).toBe(null);
      const again = {
        ...own('tech'),
        handover_no: given,
        kind: 'withdrawn',
        words: 'No',
        opened_since: '[]',
      };
      await expect(plant.store.transaction((to) => to.addNumbered('handover_ends', again))).rejects.toThrow();
      const [concession] = await concessions(sql, { alarmId: raised, limit: 9 });
      expect(concession).toMatchObject({
        no: granted,
        alarmId: raised,
        quantity: 1e9,
        expiresOn: '2025-10-31',
      });
      expect(await concessions(sql, { alarmId: raised + 1, limit: 9 })).toEqual([]);
      expect(await entriesOfConcession(sql, granted)).toMatchObject([{ kind: 'released', quantity: 400 }]);
      expect((await verifyChain(sql)).findings).toEqual([]);
      await plant.close();
    });

    it('says that nothing was stored when it cannot write, and works again when it can', async () => {
      const { database, refuse, allow } = await refusing();
      const plant = await openTestPlant(database);
      await refuse(plant.store);
      const note = 'x'.repeat(2000);
      let stored = 0;
      let full: unknown = null;
      while (full === null && stored < 200) {
        await take(plant, 127, morning + stored, { note }).then(
          () => {
            stored += 1;
          },
          (error: unknown) => {
            full = error;
          },
        );
      }
      expect(await refusal(Promise.reject(full), 503, undefined)).toMatch(/nothing was stored/);
      expect(await plant.store.sampleCount()).toBe(stored);
      await allow(plant.store);
      await take(plant, 127, morning + stored, { note });
      expect(await plant.store.sampleCount()).toBe(stored + 1);
      expect(await plant.store.samples('width', 'Q10', wide, 1000)).toHaveLength(stored + 1);
      await plant.close();
    });

    it('refuses whoever comes after it was closed, and lets what runs end', async () => {
      const database = newDatabase();
      const store = database.open();
      let closing: Promise<void> | null = null;
      await store.transaction((to) => {
        closing = store.close();
        return to.addMissedSample(missed);
      });
      await closing;
      await refusal(
        store.transaction((to) => to.addMissedSample(missed)),
        503,
        undefined,
      );
      const again = database.open();
      expect(await again.missedSamples('width', wide)).toHaveLength(1);
      await again.close();
      database.remove();
    });
  });
}

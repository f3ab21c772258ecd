/** A small plant written straight through Monitoring, on a database of its own, with a clock that tests turn. */
import { randomUUID } from 'node:crypto';
import { expect } from 'vitest';
import { createMonitoring, type Monitoring } from '../../api/monitoring/monitoring.ts';
import type { PlantRecord } from '../../api/monitoring/save-plant-record.ts';
import { createChangeFeed } from '../../api/notify/change-feed.ts';
import { ProblemError } from '../../api/problem.ts';
import type { Change, EventSubmission, SampleSubmission, SamplingPlan } from '../../api/schemas.ts';
import type { Store } from '../../api/store/store.ts';
import { newDatabase } from '../store/engines.ts';

/** A Wednesday, 08:00 local time; the plant runs from 06:00 to 22:00. */
export const morning = Date.parse('2025-09-03T08:00:00Z');
export const minutes = (count: number): number => count * 60_000;
export const tech = { personId: 'tech', door: 'page', how: 'named' } as const;
/** Quality signs what needs two signatures. */
export const engineer = {
  personId: 'engineer',
  door: 'page',
  how: 'named',
  secondPersonId: 'quality',
} as const;

const plan = (streamId: string, changes: Partial<SamplingPlan> = {}): PlantRecord => ({
  kind: 'plans',
  record: {
    streamId,
    sampleSize: 5,
    firstSampleAt: '06:30',
    intervalMinutes: 60,
    chart: 'mean-range',
    locationRules: ['one-beyond-three-sigma', 'run-on-one-side'],
    spreadRules: ['one-beyond-three-sigma'],
    meanLimitsFrom: 'within-subgroup',
    remark: '',
    raisesAlarms: true,
    reactionPlan: { steps: ['Call the setter.'], cautions: ['Only authorised people open a guard.'] },
    ...changes,
  },
});

const records: readonly PlantRecord[] = [
  { kind: 'people', record: { id: 'engineer', name: 'Engineer', role: 'engineer' } },
  { kind: 'people', record: { id: 'tech', name: 'Tech', role: 'tech' } },
  { kind: 'people', record: { id: 'supervisor', name: 'Supervisor', role: 'supervisor' } },
  { kind: 'people', record: { id: 'quality', name: 'Quality manager', role: 'quality-manager' } },
  { kind: 'plant', record: { name: 'Test works', utcOffsetMinutes: 0 } },
  {
    kind: 'lines',
    record: {
      id: 'R1',
      name: 'Rim line 1',
      partsPerHour: 300,
      runningHours: { start: '06:00', end: '22:00', weekdays: [1, 2, 3, 4, 5, 6, 7] },
    },
  },
  { kind: 'stations', record: { id: 'R1-RIM', lineId: 'R1', name: 'Rim gauges' } },
  { kind: 'models', record: { id: 'Q10', name: 'Wheel Q10' } },
  { kind: 'models', record: { id: 'Q12', name: 'Wheel Q12' } },
  { kind: 'models', record: { id: 'Q14', name: 'Wheel Q14, without specifications' } },
  ...(['width', 'force', 'leaks'] as const).map(
    (id): PlantRecord => ({
      kind: 'characteristics',
      record: {
        id,
        name: `The ${id}`,
        kind: id === 'leaks' ? 'count' : 'variable',
        unit: id === 'width' ? 'mm' : id === 'force' ? 'kN' : '1',
        decimals: id === 'leaks' ? 0 : 2,
        gauge: 'gauge',
        lowerNaturalBound: id === 'force' ? 0 : null,
        upperNaturalBound: null,
      },
    }),
  ),
  ...(
    [
      ['Q10', 127],
      ['Q12', 152.4],
    ] as const
  ).map(
    ([modelId, nominal]): PlantRecord => ({
      kind: 'specifications',
      record: {
        characteristicId: 'width',
        modelId,
        nominal,
        lowerSpecificationLimit: nominal - 1,
        upperSpecificationLimit: nominal + 1,
      },
    }),
  ),
  ...(['width', 'force', 'leaks'] as const).map(
    (id): PlantRecord => ({
      kind: 'streams',
      record: { id, characteristicId: id, stationId: 'R1-RIM', name: `Stream of ${id}`, kind: 'roll set' },
    }),
  ),
  plan('width'),
  plan('force', {
    sampleSize: 1,
    chart: 'individuals-moving-range',
    raisesAlarms: false,
    remark: 'Under trial.',
  }),
  plan('leaks', { sampleSize: 300, chart: 'none', locationRules: [], spreadRules: [] }),
];

export interface TestPlant {
  readonly file: string;
  store: Store;
  monitoring: Monitoring;
  readonly clock: { time: number; now(): number };
  readonly changes: Change[];
  /** Closes the database and opens it again, as after a restart. */
  reopen(): Promise<void>;
  close(): Promise<void>;
}

export async function openTestPlant(database = newDatabase()): Promise<TestPlant> {
  // The plant is older than the day that tests tell.
  const clock = { time: morning - minutes(24 * 60), now: () => clock.time };
  const feed = createChangeFeed();
  const changes: Change[] = [];
  feed.subscribe((change) => changes.push(change));
  const open = () => {
    const store = database.open();
    return { store, monitoring: createMonitoring({ store, clock, feed }) };
  };
  const plant: TestPlant = {
    file: database.file,
    ...open(),
    clock,
    changes,
    async reopen() {
      await plant.store.close();
      Object.assign(plant, open());
    },
    async close() {
      await plant.store.close();
      database.remove();
    },
  };
  for (const record of records) await plant.monitoring.savePlantRecord(record, '', engineer);
  clock.time = morning;
  changes.length = 0;
  return plant;
}

export const changePlan = (
  plant: TestPlant,
  changes: Partial<SamplingPlan>,
  streamId = 'width',
): Promise<void> => plant.monitoring.savePlantRecord(plan(streamId, changes), 'for this test', engineer);

/** Limits for the width of Q10: mean 127, within-subgroup standard deviation 0.2, from six hours before. */
export const freezeGiven = (plant: TestPlant, effectiveFrom = morning - minutes(360), mean = 127) =>
  plant.monitoring.freezeLimits(
    {
      streamId: 'width',
      modelId: 'Q10',
      status: 'approved',
      source: { kind: 'given', mean, withinSubgroupStandardDeviation: 0.2 },
      effectiveFrom: new Date(effectiveFrom).toISOString(),
      reason: 'Machine study',
    },
    engineer,
  );

/** Five widths with this mean and a range of 0.4. */
export const widths = (
  mean: number,
  takenAt: number,
  changes: Partial<SampleSubmission> = {},
): SampleSubmission => ({
  id: randomUUID(),
  streamId: 'width',
  modelId: 'Q10',
  takenAt: new Date(takenAt).toISOString(),
  unit: 'mm',
  readings: readingsAbout(mean),
  ...changes,
});

export const readingsAbout = (mean: number): { value: number }[] =>
  [-0.2, -0.1, 0, 0.1, 0.2].map((difference) => ({ value: Math.round((mean + difference) * 100) / 100 }));

export const event = (changes: Partial<EventSubmission>): EventSubmission => ({
  id: randomUUID(),
  lineId: 'R1',
  stationId: null,
  streamId: null,
  kind: 'note',
  at: new Date(morning).toISOString(),
  until: null,
  modelId: null,
  lot: null,
  text: '',
  ...changes,
});

/** Takes the sample at its time: the clock stands there. */
export async function take(
  plant: TestPlant,
  mean: number,
  takenAt: number,
  changes: Partial<SampleSubmission> = {},
) {
  plant.clock.time = Math.max(plant.clock.time, takenAt);
  return (await plant.monitoring.accept(widths(mean, takenAt, changes), tech)).answer;
}

/** The refusal, which must be a problem that names this field. */
export async function refusal(
  work: Promise<unknown>,
  status: number,
  field: string | undefined,
): Promise<string> {
  const error = await work.then(
    () => null,
    (thrown: unknown) => thrown,
  );
  expect(error).toBeInstanceOf(ProblemError);
  const { problem } = error as ProblemError;
  expect({ status: problem.status, field: problem.errors[0]?.field, detail: problem.detail }).toMatchObject({
    status,
    field,
  });
  return problem.detail;
}

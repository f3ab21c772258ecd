/** The plant that faults are tried on: some lines, one writer each, and a line where several write at once. */
import { createMonitoring } from '../../api/monitoring/monitoring.ts';
import type { PlantRecord } from '../../api/monitoring/save-plant-record.ts';
import { createChangeFeed } from '../../api/notify/change-feed.ts';
import { saveRoutingRecord } from '../../api/routing/routing-records.ts';
import type { Store } from '../../api/store/store.ts';

const DAY = 24 * 3_600_000;
export const NOMINAL = 127;
export const STANDARD_DEVIATION = 0.2;
export const models = ['Q10', 'Q12'] as const;
/** Who writes straight into a store. */
export const by = (personId: string) => ({ personId, door: 'api', how: 'named' }) as const;
/** What carries two signatures. */
export const engineerAndQuality = { ...by('engineer'), secondPersonId: 'quality' } as const;
/** Whom people try messages with; nobody sends them here. */
export const recipientId = 'trial';
export const streamOf = (lineId: string): string => `width-${lineId}`;

const lineRecords = (id: string): PlantRecord[] => [
  {
    kind: 'lines',
    record: {
      id,
      name: `Line ${id}`,
      partsPerHour: 300,
      runningHours: { start: '00:00', end: '24:00', weekdays: [1, 2, 3, 4, 5, 6, 7] },
    },
  },
  { kind: 'stations', record: { id: `${id}-end`, lineId: id, name: `End of line ${id}` } },
  {
    kind: 'streams',
    record: {
      id: streamOf(id),
      characteristicId: 'width',
      stationId: `${id}-end`,
      name: `Width, line ${id}`,
      kind: 'roll set',
    },
  },
  {
    kind: 'plans',
    record: {
      streamId: streamOf(id),
      sampleSize: 5,
      firstSampleAt: '00:00',
      intervalMinutes: 15,
      chart: 'mean-range',
      locationRules: ['one-beyond-three-sigma', 'two-of-three-beyond-two-sigma', 'run-on-one-side'],
      spreadRules: ['one-beyond-three-sigma'],
      meanLimitsFrom: 'within-subgroup',
      remark: '',
      raisesAlarms: true,
      reactionPlan: { steps: ['Call the setter.'], cautions: ['Only authorised people open a guard.'] },
    },
  },
];

const records = (lines: readonly string[]): PlantRecord[] => [
  { kind: 'people', record: { id: 'engineer', name: 'Engineer', role: 'engineer' } },
  { kind: 'people', record: { id: 'tech', name: 'Tech', role: 'tech' } },
  { kind: 'people', record: { id: 'supervisor', name: 'Supervisor', role: 'supervisor' } },
  { kind: 'people', record: { id: 'quality', name: 'Quality manager', role: 'quality-manager' } },
  { kind: 'plant', record: { name: 'Fault works', utcOffsetMinutes: 0 } },
  ...models.map((id): PlantRecord => ({ kind: 'models', record: { id, name: `Wheel ${id}` } })),
  {
    kind: 'characteristics',
    record: {
      id: 'width',
      name: 'Rim width',
      kind: 'variable',
      unit: 'mm',
      decimals: 2,
      gauge: 'caliper',
      lowerNaturalBound: null,
      upperNaturalBound: null,
    },
  },
  ...models.map(
    (modelId): PlantRecord => ({
      kind: 'specifications',
      record: {
        characteristicId: 'width',
        modelId,
        nominal: NOMINAL,
        lowerSpecificationLimit: NOMINAL - 1,
        upperSpecificationLimit: NOMINAL + 1,
      },
    }),
  ),
  ...lines.flatMap(lineRecords),
];

/** Writes the plant two days before `now`, with control limits from then on. */
export async function fillPlant(store: Store, lines: readonly string[], now: number): Promise<void> {
  const at = now - 2 * DAY;
  const monitoring = createMonitoring({ store, clock: { now: () => at }, feed: createChangeFeed() });
  for (const record of records(lines))
    await monitoring.savePlantRecord(record, 'First plant', engineerAndQuality);
  const recipient = {
    id: recipientId,
    name: 'Trial',
    personId: null,
    to: { by: 'topic', topic: 'trial' },
  } as const;
  await store.transaction((transaction) =>
    saveRoutingRecord(transaction, { kind: 'recipients', record: recipient }, '', 'engineer', at),
  );
  for (const lineId of lines) {
    for (const modelId of models) {
      await monitoring.freezeLimits(
        {
          streamId: streamOf(lineId),
          modelId,
          status: 'approved',
          source: {
            kind: 'given',
            mean: NOMINAL,
            withinSubgroupStandardDeviation: STANDARD_DEVIATION,
          },
          effectiveFrom: new Date(at).toISOString(),
          reason: 'Machine study',
        },
        engineerAndQuality,
      );
    }
  }
}

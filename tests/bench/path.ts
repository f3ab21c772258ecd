/**
 * One sample through the whole path in process (validated submission to durable answer) against a bare durable
 * insert of the same row: the same table, columns, indexes and settings, in the same run. Sizes are numbers of
 * stored samples: RUNTRUE_BENCH_SIZES="1000,100000" for a quick run.
 */
import { randomBytes, randomUUID } from 'node:crypto';
import { closeSync, fsyncSync, mkdtempSync, openSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { createMonitoring, type Monitoring } from '../../api/monitoring/monitoring.ts';
import type { PlantRecord } from '../../api/monitoring/save-plant-record.ts';
import { createChangeFeed } from '../../api/notify/change-feed.ts';
import type { SampleSubmission } from '../../api/schemas.ts';
import { openSqliteStore } from '../../api/store/sqlite.ts';

const USUAL_SIZES = [1_000, 100_000, 10_000_000];
const ROUNDS = 300;
const BATCH = 10;
const STREAMS = 24;
export const by = { personId: 'engineer', door: 'api', how: 'named', secondPersonId: 'quality' } as const;
export const begin = Date.parse('2024-01-01T00:00:00Z');
export const live = Date.parse('2025-09-03T08:00:00Z');

export const streamIds = Array.from({ length: STREAMS }, (_, index) => `C5-R${index + 1}`);

export const records: readonly PlantRecord[] = [
  { kind: 'people', record: { id: 'engineer', name: 'Engineer', role: 'engineer' } },
  { kind: 'people', record: { id: 'quality', name: 'Quality manager', role: 'quality-manager' } },
  { kind: 'plant', record: { name: 'Bench works', utcOffsetMinutes: 120 } },
  {
    kind: 'lines',
    record: {
      id: 'R1',
      name: 'Rim line',
      partsPerHour: 310,
      runningHours: { start: '06:00', end: '22:00', weekdays: [1, 2, 3, 4, 5, 6] },
    },
  },
  { kind: 'stations', record: { id: 'RIM', lineId: 'R1', name: 'Rim gauges' } },
  ...['Q10', 'Q12'].map((id): PlantRecord => ({ kind: 'models', record: { id, name: `Wheel ${id}` } })),
  {
    kind: 'characteristics',
    record: {
      id: 'C5',
      name: 'Rim width',
      kind: 'variable',
      unit: 'mm',
      decimals: 2,
      gauge: 'width fixture',
      lowerNaturalBound: null,
      upperNaturalBound: null,
    },
  },
  ...[
    { modelId: 'Q10', nominal: 127 },
    { modelId: 'Q12', nominal: 152.4 },
  ].map(
    ({ modelId, nominal }): PlantRecord => ({
      kind: 'specifications',
      record: {
        characteristicId: 'C5',
        modelId,
        nominal,
        lowerSpecificationLimit: nominal - 1,
        upperSpecificationLimit: nominal + 1,
      },
    }),
  ),
  ...streamIds.map(
    (id): PlantRecord => ({
      kind: 'streams',
      record: { id, characteristicId: 'C5', stationId: 'RIM', name: `Roll set ${id}`, kind: 'roll set' },
    }),
  ),
  ...streamIds.map(
    (streamId): PlantRecord => ({
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
        reactionPlan: {
          steps: ['Measure the same wheels again.', 'Call the setter.'],
          cautions: ['Keep out.'],
        },
      },
    }),
  ),
];

/** Values of a process at rest; the same in every run. */
export function processAtRest(seed: number): () => number {
  let state = seed >>> 0;
  const uniform = () => {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
    return (state + 0.5) / 2 ** 32;
  };
  return () => {
    const normal = Math.sqrt(-2 * Math.log(uniform())) * Math.cos(2 * Math.PI * uniform());
    return Math.round((127 + 0.18 * normal) * 100) / 100;
  };
}

export function submissionsFrom(next: () => number, first: number, count: number): SampleSubmission[] {
  return Array.from({ length: count }, (_, index) => ({
    id: randomUUID(),
    streamId: streamIds[(first + index) % STREAMS]!,
    modelId: 'Q10',
    takenAt: new Date(live + (first + index) * 1000).toISOString(),
    unit: 'mm' as const,
    readings: Array.from({ length: 5 }, () => ({ value: next() })),
    lot: `L${Math.floor((first + index) / 12)}`,
  }));
}

interface Subject {
  readonly size: number;
  readonly path: number[];
  readonly bare: number[];
  /** Microseconds a sample of one batch. */
  runPath(): Promise<number>;
  runBare(): number;
  close(): Promise<void>;
}

/** Fills the table far quicker than the path could, with copies of a real row; the indexes are built afterwards. */
export function fill(file: string, size: number): void {
  const database = new Database(file);
  // The driver keeps OFF from being set, and would go on writing everything twice.
  database.pragma('journal_mode = MEMORY');
  database.pragma('synchronous = OFF');
  database.pragma('cache_size = -1000000');
  const { no: present } = database.prepare('select max(no) as no from samples').get() as { no: number };
  const indexes = database
    .prepare(
      "select name, sql from sqlite_master where type = 'index' and tbl_name = 'samples' and sql is not null",
    )
    .all() as { name: string; sql: string }[];
  for (const { name } of indexes) database.exec(`drop index ${name}`);
  const columns = (database.prepare('pragma table_info(samples)').all() as { name: string }[])
    .map(({ name }) => name)
    .filter((name) => !['no', 'id', 'stream_id', 'taken_at'].includes(name));
  database
    .prepare(
      `with recursive number (value) as (select 1 union all select value + 1 from number where value < ?)
       insert into samples (id, stream_id, taken_at, ${columns})
       select randomblob(16), 'C5-R' || (1 + value % ${STREAMS}), ? + value * 5, ${columns}
       from number, (select * from samples where no = 1)`,
    )
    .run(size - present, begin);
  for (const { sql } of indexes) database.exec(sql);
  database.close();
  // What the filling left to write must not be written while the samples are timed.
  const written = openSync(file, 'r+');
  fsyncSync(written);
  closeSync(written);
}

async function prepare(folder: string, size: number): Promise<Subject> {
  const file = join(folder, `${size}.sqlite`);
  const clock = { time: live, now: () => clock.time };
  const open = () => {
    const store = openSqliteStore(file);
    return { store, monitoring: createMonitoring({ store, clock, feed: createChangeFeed() }) };
  };
  const first = open();
  for (const record of records) await first.monitoring.savePlantRecord(record, '', by);
  await freezeAll(first.monitoring);
  await first.monitoring.accept(submissionsFrom(processAtRest(1), 0, 1)[0]!, by);
  await first.store.close();
  fill(file, size);

  const { store, monitoring } = open();
  const next = processAtRest(7);
  let taken = 1;
  // Over the very connection that the path writes with: same settings, same page cache.
  const bare = await store.transaction(async (transaction) => connectionOf(transaction));
  const row = bare.prepare('select * from samples where no = 1').get() as Record<string, unknown>;
  const columns = Object.keys(row).filter((name) => name !== 'no');
  const insert = bare.prepare(
    `insert into samples (${columns}) values (${columns.map((name) => (name === 'id' ? '?' : `@${name}`))})`,
  );
  return {
    size,
    path: [],
    bare: [],
    async runPath() {
      const submissions = submissionsFrom(next, taken, BATCH);
      clock.time = Date.parse(submissions.at(-1)!.takenAt);
      taken += BATCH;
      const start = performance.now();
      for (const submission of submissions) await monitoring.accept(submission, by);
      return ((performance.now() - start) / BATCH) * 1000;
    },
    runBare() {
      const ids = Array.from({ length: BATCH }, () => randomBytes(16));
      const rows = ids.map((_, index) => ({
        ...row,
        stream_id: streamIds[index % STREAMS],
        taken_at: live - taken * 1000 + index,
      }));
      const start = performance.now();
      for (let index = 0; index < BATCH; index++) insert.run(ids[index], rows[index]);
      return ((performance.now() - start) / BATCH) * 1000;
    },
    close: () => store.close(),
  };
}

const connectionOf = (transaction: unknown): Database.Database =>
  (transaction as unknown as { sql: { database: Database.Database } }).sql.database;

export async function freezeAll(monitoring: Monitoring): Promise<void> {
  for (const streamId of streamIds) {
    await monitoring.freezeLimits(
      {
        streamId,
        modelId: 'Q10',
        status: 'approved',
        source: { kind: 'given', mean: 127, withinSubgroupStandardDeviation: 0.18 },
        effectiveFrom: new Date(begin).toISOString(),
        reason: 'Bench',
      },
      by,
    );
  }
}

const median = (values: readonly number[]): number => {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[Math.floor(sorted.length / 2)]!;
};

export async function run(): Promise<void> {
  const asked = process.env.RUNTRUE_BENCH_SIZES;
  const sizes = asked === undefined ? USUAL_SIZES : asked.split(',').map(Number);
  const folder = mkdtempSync(join(tmpdir(), 'runtrue-bench-'));
  const subjects: Subject[] = [];
  try {
    for (const size of sizes) {
      const start = performance.now();
      subjects.push(await prepare(folder, size));
      console.log(`filled ${size} samples in ${((performance.now() - start) / 1000).toFixed(1)} s`);
    }
    for (const { runPath, runBare } of subjects) {
      await runPath();
      runBare();
    }
    // In turn, so that whatever else the machine does falls on all alike.
    for (let round = 0; round < ROUNDS; round++) {
      for (const subject of subjects) {
        subject.path.push(await subject.runPath());
        subject.bare.push(subject.runBare());
      }
    }
    const smallest = subjects[0]!;
    console.log(
      'stored      path µs   bare µs   rate of bare (aim ≥ 0.8)   against fewest stored (aim ≤ 1.2)',
    );
    for (const { size, path, bare } of subjects) {
      const ratio = median(bare.map((value, index) => value / path[index]!));
      const flat = median(path.map((value, index) => value / smallest.path[index]!));
      const cells = [
        String(size).padEnd(10),
        median(path).toFixed(1).padStart(8),
        median(bare).toFixed(1).padStart(9),
        ratio.toFixed(3).padStart(14),
        flat.toFixed(3).padStart(27),
      ];
      console.log(cells.join(' '));
    }
  } finally {
    for (const subject of subjects) await subject.close();
    rmSync(folder, { recursive: true });
  }
}

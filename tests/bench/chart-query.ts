/**
 * What a chart asks of the store against the bare query for the same rows over the same connection settings, at
 * several numbers of stored samples: RUNTRUE_BENCH_SIZES="1000,100000" for a quick look.
 */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { createMonitoring } from '../../api/monitoring/monitoring.ts';
import { createChangeFeed } from '../../api/notify/change-feed.ts';
import { openSqliteStore } from '../../api/store/sqlite.ts';
import {
  begin,
  by,
  fill,
  freezeAll,
  live,
  processAtRest,
  records,
  streamIds,
  submissionsFrom,
} from './path.ts';

const USUAL_SIZES = [10_000, 10_000_000];
const ROUNDS = 200;
/** Points on a chart. */
const POINTS = 1000;

const median = (values: readonly number[]): number =>
  [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)]!;

export async function run(): Promise<void> {
  const asked = process.env.RUNTRUE_BENCH_SIZES;
  const sizes = asked === undefined ? USUAL_SIZES : asked.split(',').map(Number);
  console.log(`${POINTS} points of one stream, medians of ${ROUNDS} rounds`);
  console.log('stored      store µs   bare µs   rate of bare');
  for (const size of sizes) {
    const folder = mkdtempSync(join(tmpdir(), 'runtrue-chart-'));
    try {
      const file = join(folder, 'plant.sqlite');
      const first = openSqliteStore(file);
      const clock = { now: () => live };
      const monitoring = createMonitoring({ store: first, clock, feed: createChangeFeed() });
      for (const record of records) await monitoring.savePlantRecord(record, '', by);
      await freezeAll(monitoring);
      await monitoring.accept(submissionsFrom(processAtRest(1), 0, 1)[0]!, by);
      await first.close();
      fill(file, size);

      const store = openSqliteStore(file);
      const bare = new Database(file, { readonly: true });
      const query = bare.prepare(
        `select no, taken_at, size, mean, range, standard_deviation from samples
         where stream_id = ? and model_id = ? and taken_at between ? and ? order by taken_at desc, no desc limit ?`,
      );
      const [streamId] = streamIds as [string];
      const ofStore: number[] = [];
      const ofBare: number[] = [];
      // A stretch anywhere in the history, another each round.
      const span = size * 5;
      for (let round = -5; round < ROUNDS; round++) {
        const to = begin + Math.floor((span * (round + 6)) / (ROUNDS + 6)) + 1_000_000;
        let started = performance.now();
        const points = await store.chartedSamples(streamId, 'Q10', { from: begin, to }, POINTS);
        const storeTook = performance.now() - started;
        started = performance.now();
        const rows = query.all(streamId, 'Q10', begin, to, POINTS);
        const bareTook = performance.now() - started;
        if (points.length !== rows.length)
          throw new Error(`${points.length} points, but ${rows.length} rows`);
        if (round < 0) continue;
        ofStore.push(storeTook * 1000);
        ofBare.push(bareTook * 1000);
      }
      bare.close();
      await store.close();
      const ratio = median(ofBare.map((value, at) => value / ofStore[at]!));
      const cells = [
        String(size).padEnd(10),
        median(ofStore).toFixed(0).padStart(9),
        median(ofBare).toFixed(0).padStart(9),
        ratio.toFixed(2).padStart(14),
      ];
      console.log(cells.join(' '));
    } finally {
      rmSync(folder, { recursive: true });
    }
  }
}

import Database from 'better-sqlite3';
import { afterAll, expect, it } from 'vitest';
import { passingFolder, sqliteEngine } from './engine.ts';
import { type KillsResult, lines, runKills } from './kills.ts';
import { compare } from './replay.ts';

const KILLS = 5;
const engine = sqliteEngine();
afterAll(() => engine.end());

async function compareAgain({ writers, begin }: KillsResult): Promise<readonly string[]> {
  const replayEngine = sqliteEngine(passingFolder());
  const [store, fresh] = [await engine.open(), await replayEngine.open()];
  const { problems } = await compare(store, fresh, writers, lines, begin);
  await Promise.all([store.close(), fresh.close()]);
  await replayEngine.end();
  return problems;
}

it(`loses nothing that was acknowledged and stores nothing twice over ${KILLS} kills`, async () => {
  const replayEngine = sqliteEngine(passingFolder());
  const result = await runKills({ engine, replayEngine, kills: KILLS, seed: 1, leastWrites: 150 });
  await replayEngine.end();
  expect(result.problems).toEqual([]);
  expect(result.samples).toBeGreaterThan(100);
  expect(result.signals).toBeGreaterThan(0);
  expect(result.unanswered).toBeGreaterThan(0);
  expect(result.written.correction + result.written.event + result.written['alarm entry']).toBeGreaterThan(0);

  // The comparison itself notices a record that is lost, and a judgement that is another.
  const database = new Database(engine.file);
  database.exec(`update signals set side = 'both' where id = (select max(id) from signals)`);
  expect(await compareAgain(result)).toHaveLength(1);
  database.pragma('foreign_keys = off');
  const lost = database
    .prepare('delete from samples where no = (select max(no) from samples where model_id = ?) returning no')
    .all('Q10');
  expect(lost).toHaveLength(1);
  database.close();
  const problems = await compareAgain(result);
  expect(problems.some((problem) => problem.startsWith('answer to '))).toBe(true);
  expect(problems.some((problem) => problem.startsWith('number of samples'))).toBe(true);
}, 300_000);

import Database from 'better-sqlite3';
import { afterAll, expect, it } from 'vitest';
import type { Client } from './client.ts';
import { passingFolder, sqliteEngine } from './engine.ts';
import { type KillsResult, lines, runKills } from './kills.ts';
import { askAgain, compare } from './replay.ts';

const KILLS = 3;
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

type Row = Readonly<Record<string, unknown>>;

/** Asks a server again that gives one of its answers differently. */
const askedAgain = ({ writers }: KillsResult): Promise<readonly string[]> => {
  const given = new Map(writers.flatMap(({ keyed }) => keyed.map(({ key, answer }) => [key, answer])));
  const other = writers.find(({ keyed }) => keyed.length > 0)!.keyed.at(-1)!.key;
  const send: Client['send'] = async (_method, _path, _person, _sent, key) => ({
    status: 200,
    body: key === other ? { id: 'another' } : given.get(key!),
  });
  return askAgain({ send }, writers);
};

it(`loses nothing that was acknowledged and stores nothing twice over ${KILLS} kills`, async () => {
  const replayEngine = sqliteEngine(passingFolder());
  const result = await runKills({ engine, replayEngine, kills: KILLS, seed: 1, leastWrites: 150 });
  await replayEngine.end();
  expect(result.problems).toEqual([]);
  expect(result.samples).toBeGreaterThan(100);
  expect(result.signals).toBeGreaterThan(0);
  expect(result.unanswered).toBeGreaterThan(0);
  expect(result.written.limits).toBeGreaterThan(0);
  expect(result.written.message).toBeGreaterThan(0);
  expect(result.underKeys).toBeGreaterThan(20);
  expect(result.written.correction + result.written.event + result.written['alarm entry']).toBeGreaterThan(0);

  // An answer under a key that is another is noticed, …
  expect(await askedAgain(result)).toHaveLength(1);

  // … a write that only its key keeps apart and that is there twice, …
  const database = new Database(engine.file);
  const newest = (table: string, order: string): Row =>
    database.prepare(`select * from ${table} order by ${order} desc limit 1`).get() as Row;
  const insert = (table: string, row: Row): void => {
    const names = Object.keys(row);
    database.prepare(`insert into ${table} (${names}) values (${names.map((name) => `@${name}`)})`).run(row);
  };
  insert('deliveries', { ...newest('deliveries', 'no'), no: 1_000_000, id: 'twice' });
  insert('limits_versions', { ...newest('limits_versions', 'version'), version: 1000 });
  // … a judgement that is another, and a record that is lost.
  database.exec(`update signals set side = 'both' where id = (select max(id) from signals)`);
  database.pragma('foreign_keys = off');
  const lost = database
    .prepare(
      `delete from samples where no = (select max(no) from samples where no not in (select sample_no from signals))
       returning no`,
    )
    .all();
  expect(lost).toHaveLength(1);
  database.close();
  const problems = await compareAgain(result);
  for (const noticed of [
    /^messages: /,
    /^limits of /,
    /^signals of .*side is "both"/,
    /^number of samples/,
    /^answer to .* is null/,
  ])
    expect(problems).toContainEqual(expect.stringMatching(noticed));
}, 300_000);

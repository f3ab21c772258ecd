import Database from 'better-sqlite3';
import { afterAll, expect, it } from 'vitest';
import { retryingClient } from './client.ts';
import { passingFolder, sqliteEngine } from './engine.ts';
import { type KillsResult, lines, runKills } from './kills.ts';
import { askAgain, compare } from './replay.ts';
import { startProcess } from './server-process.ts';

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

type Row = Readonly<Record<string, unknown>>;

async function askedAgain({ writers }: KillsResult): Promise<readonly string[]> {
  const server = startProcess({ environment: engine.environment });
  await server.ready;
  const problems = await askAgain(
    retryingClient(() => server.address),
    writers,
  );
  server.kill('SIGKILL');
  await server.ended;
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
  expect(result.written.limits).toBeGreaterThan(0);
  expect(result.written.message).toBeGreaterThan(0);
  expect(result.underKeys).toBeGreaterThan(20);
  expect(result.written.correction + result.written.event + result.written['alarm entry']).toBeGreaterThan(0);

  // The comparison itself notices where a write that only its key keeps apart is there twice, or not at all.
  const database = new Database(engine.file);
  const newest = (table: string, order: string): Row =>
    database.prepare(`select * from ${table} order by ${order} desc limit 1`).get() as Row;
  const insert = (table: string, row: Row): void => {
    const names = Object.keys(row);
    database.prepare(`insert into ${table} (${names}) values (${names.map((name) => `@${name}`)})`).run(row);
  };
  const message = newest('deliveries', 'no');
  insert('deliveries', { ...message, no: 1_000_000, id: 'twice' });
  insert('limits_versions', { ...newest('limits_versions', 'version'), version: 1000 });
  const doubled = await compareAgain(result);
  expect(doubled[0]).toMatch(/^messages: /);
  expect(doubled).toContainEqual(expect.stringMatching(/^limits of /));
  database.exec('delete from limits_versions where version = 1000');
  database.prepare('delete from deliveries where no >= ?').run(message.no);

  // … an answer under a key that is another, …
  database.exec(`update idempotency_keys set answer = replace(answer, '"id"', '"other"')`);
  expect(await askedAgain(result)).not.toEqual([]);

  // … a record that is lost, and a judgement that is another.
  database.exec(`update signals set side = 'both' where id = (select max(id) from signals)`);
  const lostAndOther = await compareAgain(result);
  expect(lostAndOther).toHaveLength(2);
  expect(lostAndOther[0]).toMatch(/^messages: /);
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

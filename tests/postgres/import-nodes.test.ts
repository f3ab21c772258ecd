/** A file that comes in at one node and is imported at others, by server processes on one database. */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import pg from 'pg';
import { afterAll, beforeAll, expect, it } from 'vitest';
import type { EndpointKey } from '../../api/contract.ts';
import type { ImportFile, ImportMapping, ImportPreview, ImportProgress } from '../../api/schemas.ts';
import { openPostgresStore } from '../../api/store/postgres.ts';
import type { Store } from '../../api/store/store.ts';
import { type Loose, requestTo } from '../api/assemble-app.ts';
import { setUpPlant } from '../api/small-plant.ts';
import { type RunningServer, startServer } from '../browser/server.ts';
import { emptyDatabase } from './databases.ts';

const folder = mkdtempSync(join(tmpdir(), 'runtrue-import-nodes-'));
let database: string;
let store: Store;
let nodes: RunningServer[];
const start = (name: string) =>
  startServer({ program: 'main', dataFolder: join(folder, name), environment: { DATABASE_URL: database } });

async function send(node: RunningServer, key: EndpointKey, sent: Loose = {}, person = 'kim') {
  const request = requestTo(key, sent, person);
  const { pathname, search } = new URL(request.url);
  const body = request.method === 'GET' ? null : await request.text();
  const { method, headers } = request;
  const response = await fetch(`${node.address}${pathname}${search}`, { method, headers, body });
  return { status: response.status, answer: await response.json() };
}
async function call<T>(node: RunningServer, key: EndpointKey, sent?: Loose, person?: string): Promise<T> {
  const { status, answer } = await send(node, key, sent, person);
  expect(status, `${key}: ${JSON.stringify(answer)}`).toBe(200);
  return answer as T;
}

beforeAll(async () => {
  database = await emptyDatabase();
  nodes = await Promise.all([start('a'), start('b')]);
  const at = {
    call: (key: EndpointKey, sent?: Loose, person?: string) => call(nodes[0]!, key, sent, person),
  };
  await setUpPlant(at as never);
  store = await openPostgresStore({ address: database, plant: 1 });
});
afterAll(async () => {
  await store.close();
  await Promise.all(nodes.map((node) => node.stop()));
  rmSync(folder, { recursive: true });
});

/** A file of widths, each row a minute after the one before it; no two files have a time in common. */
let files = 0;
function table(rows: number): string {
  const begin = Date.parse('2025-01-01T00:00:00Z') + files++ * 30 * 86_400_000;
  const row = (_: unknown, index: number): string => {
    const at = new Date(begin + index * 60_000).toISOString();
    return [at, ...[126.8, 126.9, 127, 127.1, 127.2].map((value) => value + (index % 5) / 100)].join(',');
  };
  return ['at,a,b,c,d,e', ...Array.from({ length: rows }, row)].join('\n');
}
async function upload(node: RunningServer, text: string): Promise<ImportFile> {
  const response = await fetch(`${node.address}/api/imports`, {
    method: 'POST',
    headers: { 'Content-Type': 'text/csv', 'File-Name': 'widths.csv', 'Runtrue-Person': 'kim' },
    body: text,
  });
  const answer = await response.text();
  expect(response.status, answer).toBe(200);
  return JSON.parse(answer) as ImportFile;
}
const committing = ({ id, shape }: ImportFile): { params: { id: string }; body: ImportMapping } => ({
  params: { id },
  body: {
    shape,
    streamId: 'C5-R1',
    modelId: 'Q10',
    unit: 'mm',
    layout: { form: 'wide', valueColumns: [1, 2, 3, 4, 5] },
    time: { from: 'column', column: 0, format: 'iso' },
    lotColumn: null,
  },
});
const progress = (node: RunningServer, { id }: ImportFile) =>
  call<ImportProgress>(node, 'GET /api/imports/{id}', { params: { id } });
const ended = async (node: RunningServer, file: ImportFile): Promise<ImportProgress> => {
  await expect.poll(async () => (await progress(node, file)).state, { timeout: 50_000 }).not.toBe('running');
  return progress(node, file);
};
const pieces = async (): Promise<unknown[]> => store.sql.all('select no from import_file_pieces');

it('is looked at, previewed and committed at the other node, and the first one tells how far it is', async () => {
  const [first, second] = [nodes[0]!, nodes[1]!];
  const file = await upload(first, table(200));
  expect(file).toMatchObject({ rows: 200, columns: ['at', 'a', 'b', 'c', 'd', 'e'] });
  const shape = { params: { id: file.id }, body: file.shape };
  expect(await call(second, 'POST /api/imports/{id}/shape', shape)).toEqual(file);
  const found = await call<ImportPreview>(second, 'POST /api/imports/{id}/preview', committing(file));
  expect(found).toMatchObject({ samples: 200, alreadyStored: 0, badRowCount: 0 });
  // A board of the first one hears of it.
  const gone = new AbortController();
  const board = await fetch(`${first.address}/api/stream`, {
    headers: { 'Runtrue-Person': 'kim' },
    signal: gone.signal,
  });
  let heard = '';
  const listening = board.body!.pipeThrough(new TextDecoderStream()).pipeTo(
    new WritableStream({
      write: (text) => {
        heard += text;
      },
    }),
  );
  listening.catch(() => {});
  await call(second, 'POST /api/imports/{id}/commit', committing(file));
  const done = { id: file.id, state: 'done', done: 200, total: 200, problem: null };
  expect(await ended(first, file)).toEqual(done);
  expect(await progress(second, file)).toEqual(done);
  await expect.poll(() => heard, { timeout: 20_000 }).toContain('"done":200,"total":200');
  gone.abort();
  expect(await store.sampleCount()).toBe(200);
  expect(await pieces()).toEqual([]);
});

it('is stored once where both nodes are told to', async () => {
  const before = await store.sampleCount();
  const file = await upload(nodes[0]!, table(200));
  const answers = await Promise.all(
    [0, 1, 0, 1].map((index) => send(nodes[index]!, 'POST /api/imports/{id}/commit', committing(file))),
  );
  expect(answers.map(({ status }) => status).sort()).toEqual([200, 409, 409, 409]);
  expect(await ended(nodes[1]!, file)).toMatchObject({ state: 'done', done: 200 });
  expect(await store.sampleCount()).toBe(before + 200);
});

it('is not stored, and may be committed again, where the node is killed in the middle', async () => {
  const [first, second] = [nodes[0]!, nodes[1]!];
  const third = await start('c');
  const before = await store.sampleCount();
  const file = await upload(first, table(2000));
  await call(third, 'POST /api/imports/{id}/commit', committing(file));
  await expect.poll(async () => (await progress(third, file)).done, { interval: 5 }).toBeGreaterThan(0);
  expect(await progress(first, file)).toMatchObject({ state: 'running', total: 2000 });
  await third.kill();
  // For as long as it may only be slow, nobody takes it over.
  expect((await send(second, 'POST /api/imports/{id}/commit', committing(file))).status).toBe(409);
  // The minute in which it would have said that it lives is over.
  const client = new pg.Client(database);
  await client.connect();
  await client.query(`select set_config('runtrue.plant', '1', false)`);
  await client.query('update import_files set claimed_until = 0 where id = $1', [file.id]);
  await client.end();
  for (const node of [second, first])
    expect(await progress(node, file)).toEqual({
      id: file.id,
      state: 'failed',
      done: 0,
      total: 2000,
      problem: 'Nothing of the file was stored. The server stopped in the middle; import it once more.',
    });
  expect(await store.sampleCount()).toBe(before);
  await call(second, 'POST /api/imports/{id}/commit', committing(file));
  expect(await ended(first, file)).toMatchObject({ state: 'done', done: 2000, problem: null });
  expect(await store.sampleCount()).toBe(before + 2000);
  expect(await pieces()).toEqual([]);
});

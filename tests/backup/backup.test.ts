/** Backups taken while a real server is written to, and restored where another one starts. */
import { spawn } from 'node:child_process';
import {
  copyFileSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  rmSync,
  truncateSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { digestsOf, readManifest } from '../../api/backup/manifest.ts';
import type { SampleAnswer, SampleHistory } from '../../api/schemas.ts';
import { NOMINAL } from '../faults/plant.ts';
import { type RunningPlant, runningPlant, widths } from '../faults/running-plant.ts';
import { builtServer, startProcess } from '../faults/server-process.ts';

const folder = mkdtempSync(join(tmpdir(), 'runtrue-backup-'));
afterAll(() => rmSync(folder, { recursive: true }));

/** A built command, to its end. */
function command(
  program: string,
  words: readonly string[],
  environment: Readonly<Record<string, string>> = {},
): Promise<{ readonly code: number | null; readonly printed: string }> {
  return new Promise((done) => {
    const child = spawn(process.execPath, [`${builtServer}${program}.js`, ...words], {
      env: { ...process.env, ...environment },
    });
    let printed = '';
    for (const output of [child.stdout, child.stderr]) {
      output.on('data', (chunk: Buffer) => {
        printed += chunk.toString();
      });
    }
    child.once('exit', (code) => done({ code, printed: printed.trim() }));
  });
}

let plant: RunningPlant;
/** Sample ids acknowledged before the backup began, and all of them. */
const before = new Set<string>();
const answers = new Map<string, SampleAnswer>();
let backup: string;

beforeAll(async () => {
  plant = await runningPlant();
  let over = false;
  let number = 0;
  const storm = Array.from({ length: 6 }, async () => {
    while (!over) {
      const sample = widths(NOMINAL + (number++ % 17 === 0 ? 0.6 : 0));
      const { status, body } = await plant.request('POST', '/api/samples', sample);
      expect(status, JSON.stringify(body)).toBe(200);
      answers.set(sample.id, body as SampleAnswer);
    }
  });
  while (answers.size < 300) await new Promise((done) => setTimeout(done, 5));
  for (const id of answers.keys()) before.add(id);
  const target = join(folder, 'backups');
  const { code, printed } = await command('backup', [target], plant.engine.environment);
  expect(printed).toMatch(
    /The backup is .*runtrue-\d{8}T\d{6}Z\.sqlite, compared with the plant row by row\.$/,
  );
  expect(code).toBe(0);
  over = true;
  await Promise.all(storm);
  backup = join(target, readdirSync(target)[0]!);
  expect(readdirSync(target)).toHaveLength(1);
});
afterAll(() => plant.end());

it('holds all that was acknowledged before it began, and a moment of what came during it', async () => {
  const database = new Database(backup, { readonly: true });
  const manifest = readManifest(database)!;
  expect(await digestsOf(database)).toEqual(manifest.tables);
  const ids = database.prepare('select lower(hex(id)) from samples').pluck().all() as string[];
  database.close();
  const kept = new Set(ids);
  for (const id of before) expect(kept).toContain(id.replaceAll('-', ''));
  expect(kept.size).toBe(ids.length);
  expect(manifest.tables.samples!.rows).toBe(ids.length);
  // Writing went on meanwhile.
  expect(answers.size).toBeGreaterThan(before.size);
});

it('is restored to an empty folder, where a server answers as the first one did', async () => {
  const data = join(folder, 'restored');
  const { code, printed } = await command('restore', [backup, data]);
  expect(printed).toMatch(
    /^Restored the plant of .* into .*: \d+ rows in \d+ tables, all as the manifest says\.$/m,
  );
  expect(code).toBe(0);
  expect(readdirSync(data)).toEqual(['plant.sqlite']);
  const verified = await command('verify', [], { DATA_DIR: data });
  expect(verified.printed).toContain('Everything agrees');
  expect(verified.code).toBe(0);

  const server = startProcess({ environment: { DATA_DIR: data } });
  const address = await server.ready;
  const request = async (path: string, sent?: unknown): Promise<unknown> => {
    const response = await fetch(`${address}${path}`, {
      method: sent === undefined ? 'GET' : 'POST',
      headers: { 'Content-Type': 'application/json', 'Runtrue-Person': 'tech' },
      body: sent === undefined ? null : JSON.stringify(sent),
    });
    expect(response.status).toBe(200);
    return response.json();
  };
  expect(await request('/api/plant')).toEqual((await plant.request('GET', '/api/plant')).body);
  for (const id of [...before].slice(0, 50)) {
    const first = (await plant.request('GET', `/api/samples/${id}`)).body as SampleHistory;
    const restored = (await request(`/api/samples/${id}`)) as SampleHistory;
    expect(restored.sample).toEqual(first.sample);
    expect(restored.signals.map((signal) => signal.id)).toEqual(first.signals.map((signal) => signal.id));
  }
  // And takes what comes next.
  await request('/api/samples', widths());
  server.kill('SIGTERM');
  expect((await server.ended).code).toBe(0);
});

describe('a restore refuses in words, and leaves nothing behind', () => {
  const changed = (name: string, change: (file: string) => void): string => {
    const file = join(folder, `${name}.sqlite`);
    copyFileSync(backup, file);
    change(file);
    return file;
  };
  const sql = (text: string) => (file: string) => {
    const database = new Database(file);
    database.exec(text);
    database.close();
  };
  it.each<[string, (file: string) => void, RegExp]>([
    [
      'a value that was changed',
      sql('update samples set mean = mean + 0.01 where no = (select max(no) from samples)'),
      /not what it was when it was taken, so nothing was restored\. The content of the table samples was changed\./,
    ],
    [
      'a row that was taken out',
      sql('pragma foreign_keys = off; delete from signals where id = (select max(id) from signals)'),
      /The table signals has \d+ rows instead of \d+\./,
    ],
    [
      'a table that was added',
      sql('create table extra (id integer primary key)'),
      /table extra does not belong/,
    ],
    ['a file cut short', (file) => truncateSync(file, 200_000), /(damaged|cannot be read as a backup)/],
    [
      'a file that is no database',
      (file) => writeFileSync(file, 'no backup'.repeat(200)),
      /cannot be read as a backup/,
    ],
    ['a database that is no backup', sql('drop table backup_manifest'), /is no backup: it holds no manifest/],
  ])('%s', async (name, change, words) => {
    const data = join(folder, `into ${name}`);
    const { code, printed } = await command('restore', [changed(name, change), data]);
    expect(printed).toMatch(/^Nothing was restored: /);
    expect(printed).toMatch(words);
    expect(printed.split('\n')).toHaveLength(1);
    expect(code).toBe(1);
    expect(readdirSync(data)).toEqual([]);
  });

  it('a folder that holds something', async () => {
    const data = join(folder, 'full');
    mkdirSync(data);
    writeFileSync(join(data, 'notes.txt'), 'mine');
    const { code, printed } = await command('restore', [backup, data]);
    expect(printed).toContain('is not empty (notes.txt is in it)');
    expect(code).toBe(1);
    expect(readdirSync(data)).toEqual(['notes.txt']);
  });
});

it('says in words why it cannot be taken', async () => {
  const nowhere = await command('backup', [join(folder, 'none')], { DATA_DIR: join(folder, 'no plant') });
  expect(nowhere.printed).toMatch(/^No backup was taken: There is no plant at /);
  expect(nowhere.code).toBe(1);
  const target = join(folder, 'a file');
  writeFileSync(target, '');
  const blocked = await command('backup', [target], plant.engine.environment);
  expect(blocked.printed).toMatch(/^No backup was taken: /);
  expect(blocked.code).toBe(1);
});

/** The built commands asked wrongly, or for what is not there: one sentence with what to do, and a code that says so. */
import { spawn } from 'node:child_process';
import { existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openSqliteStore } from '../../api/store/sqlite.ts';
import { builtServer } from '../faults/server-process.ts';

const root = mkdtempSync(join(tmpdir(), 'runtrue-console-'));
const at = (...names: string[]) => join(root, ...names);
afterAll(() => rmSync(root, { recursive: true }));

interface Ended {
  readonly code: number | null;
  readonly output: string;
  readonly errors: string;
}

function command(name: string, words: readonly string[], folder = at('plant')): Promise<Ended> {
  const env = { ...process.env, DATABASE_URL: '', DATA_DIR: folder };
  const child = spawn(process.execPath, [`${builtServer}${name}.js`, ...words], { env });
  const printed = { output: '', errors: '' };
  child.stdout.on('data', (chunk: Buffer) => {
    printed.output += chunk.toString();
  });
  child.stderr.on('data', (chunk: Buffer) => {
    printed.errors += chunk.toString();
  });
  return new Promise((done) => child.once('close', (code) => done({ code, ...printed })));
}

beforeAll(async () => {
  for (const folder of ['plant', 'empty', 'broken', 'other']) mkdirSync(at(folder));
  await openSqliteStore(at('plant', 'plant.sqlite')).close();
  writeFileSync(at('broken', 'plant.sqlite'), 'no database'.repeat(500));
  // A database, but of something else.
  new Database(at('other', 'plant.sqlite')).exec('create table notes (text text) strict').close();
  writeFileSync(at('list.json'), '[1, 2]');
  writeFileSync(at('words.txt'), 'no JSON');
});

const everyCommand = ['verify', 'backup', 'restore', 'move', 'archive', 'administrator-link'];
const nowhere = 'postgres://nobody@127.0.0.1:1/none';
const how = (name: string) => `"npm run ${name} -- --help" shows how it is used.`;

describe.concurrent('a command that is asked wrongly', () => {
  it.each(everyCommand)('%s has no option --colour', async (name) => {
    const { code, output, errors } = await command(name, ['--colour', 'red']);
    expect({ code, output, errors }).toEqual({
      code: 2,
      output: '',
      errors: `There is no option --colour. ${how(name)}\n`,
    });
  });

  it.each([
    ['verify', ['plant.sqlite'], 'There is a word too many: "plant.sqlite".'],
    ['verify', ['--write-heads'], 'The option --write-heads <value> needs its value after it.'],
    ['verify', ['--write-heads', '--known-heads'], 'The option --write-heads needs its value after it.'],
    ['verify', ['--help=yes'], 'The option --help takes no value.'],
    ['restore', ['a', 'b', 'c'], 'There is a word too many: "c".'],
    ['archive', ['a', 'b'], 'There is a word too many: "b".'],
    ['archive', ['--before'], 'The option --before <value> needs its value after it.'],
  ])('%s %j', async (name, words, sentence) => {
    expect(await command(name, words)).toEqual({
      code: 2,
      output: '',
      errors: `${sentence} ${how(name)}\n`,
    });
  });

  it.each([
    ['restore', [], 2],
    ['archive', [], 2],
    ['archive', ['--before', '2025-09-01'], 2],
    ['verify', ['--help'], 0],
  ])('%s %j shows how it is used', async (name, words, code) => {
    const ended = await command(name, words);
    expect(ended).toMatchObject({ code, errors: '' });
    expect(ended.output).toContain(`npm run ${name} -- `);
  });
});

describe.concurrent('a command for what is not there', () => {
  const noPlant = /There is no plant at \S+plant\.sqlite; name its folder with DATA_DIR\.$/;
  const noDatabase = /plant\.sqlite cannot be read as the database of a plant: file is not a database\.$/;
  const noPlantInIt =
    /The database holds no plant of this version: name another with DATA_DIR or DATABASE_URL/;
  it.each<[name: string, words: readonly string[], folder: string, code: number, sentence: RegExp]>([
    ['verify', [], 'nope', 2, noPlant],
    ['verify', [], 'empty', 2, noPlant],
    ['verify', [], 'broken', 2, noDatabase],
    ['verify', [], 'other', 2, noPlantInIt],
    ['verify', ['--known-heads', 'none.json'], 'plant', 2, /--write-heads wrote.* none\.json .*ENOENT\)\.$/],
    [
      'verify',
      ['--known-heads', root],
      'plant',
      2,
      /wrote earlier, not \S+ \(it cannot be read, EISDIR\)\.$/,
    ],
    ['verify', ['--known-heads', at('list.json')], 'plant', 2, /list\.json \(it holds no heads\)\.$/],
    ['verify', ['--known-heads', at('words.txt')], 'plant', 2, /words\.txt \(it holds no heads\)\.$/],
    ['verify', ['--write-heads', at('no', 'h.json')], 'plant', 2, /\(ENOENT\); name a file in a folder that/],
    ['verify', ['--archive', at('none')], 'plant', 2, /none holds no archive/],
    ['backup', [at('backups')], 'nope', 1, noPlant],
    ['backup', [at('backups')], 'broken', 1, /^No backup was taken: .*file is not a database/],
    ['restore', [at('none'), at('new')], 'plant', 1, /^Nothing was restored: There is no backup /],
    ['move', [at('none'), nowhere], 'plant', 1, /^Cannot open \S+none: .* Nothing was moved\.$/],
    [
      'move',
      [at('broken', 'plant.sqlite'), nowhere],
      'plant',
      1,
      /^Cannot copy .*file is not a database\. N/,
    ],
    ['archive', ['--before', '2025-09-01', at('archive')], 'empty', 1, noPlant],
    ['archive', ['--before', '2025-09-01', at('archive')], 'broken', 1, noDatabase],
    ['archive', ['--before', '2025-09-01', at('archive')], 'other', 1, noPlantInIt],
    ['archive', ['--read', at('none')], 'empty', 1, noPlant],
    ['administrator-link', ['kim'], 'empty', 1, /^No link was made: There is no plant in /],
    ['administrator-link', ['kim'], 'broken', 1, /^No link was made: file is not a database/],
  ])('%s %j in the folder "%s"', async (name, words, folder, code, sentence) => {
    const ended = await command(name, words, at(folder));
    expect(ended.errors.trim()).toMatch(sentence);
    expect(ended.errors.trim().split('\n')).toHaveLength(1);
    expect(ended.code).toBe(code);
    // A mistaken folder has not become a plant.
    for (const left of ['nope', 'empty']) expect(existsSync(at(left, 'plant.sqlite'))).toBe(false);
  });
});

it('verify takes the heads that it wrote, and code 1 stays for what does not agree', async () => {
  const heads = at('heads.json');
  const wrote = await command('verify', ['--write-heads', heads]);
  expect(wrote).toMatchObject({ code: 0, errors: '' });
  expect(await command('verify', ['--known-heads', heads])).toMatchObject({ code: 0, errors: '' });
  const known = { ...JSON.parse(readFileSync(heads, 'utf8')), '': { no: 7, digest: '00'.repeat(32) } };
  writeFileSync(heads, JSON.stringify(known));
  // Also where the heads cannot be written then.
  const words = ['--known-heads', heads, '--write-heads', at('no', 'heads.json')];
  const { code, output } = await command('verify', words);
  expect(output).toContain('places do not agree');
  expect(code).toBe(1);
});

/** The commands on a plant in PostgreSQL whose old months are away: each says what it needs. */
import { spawn } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, expect, it } from 'vitest';
import { openPostgresStore } from '../../api/store/postgres.ts';
import { freezeGiven, minutes, morning, openTestPlant, take } from '../api/test-plant.ts';
import { builtServer } from '../faults/server-process.ts';
import { emptyDatabase } from '../postgres/databases.ts';

const root = mkdtempSync(join(tmpdir(), 'runtrue-commands-'));
afterAll(() => rmSync(root, { recursive: true }));

/** A built command, to its end: how it ended, and what it printed. */
function command(
  program: string,
  words: readonly string[],
  environment: Readonly<Record<string, string>>,
): Promise<string> {
  return new Promise((done) => {
    const env = { ...process.env, DATABASE_URL: '', DATA_DIR: '', ...environment };
    const child = spawn(process.execPath, [`${builtServer}${program}.js`, ...words], { env });
    let printed = '';
    for (const output of [child.stdout, child.stderr]) {
      output.on('data', (chunk: Buffer) => {
        printed += chunk.toString();
      });
    }
    child.once('exit', (code) => done(`${code}: ${printed}`));
  });
}

it('name the months that are away, until they are read back', async () => {
  const address = await emptyDatabase();
  const to = { address, plant: 1 };
  const store = await openPostgresStore(to);
  const plant = await openTestPlant({
    engine: 'postgres',
    file: '',
    address: to,
    open: () => store,
    remove: () => {},
  });
  await freezeGiven(plant, morning - minutes(60 * 24 * 40));
  // Two of August, two of September.
  for (const day of [-9, -8, 0, 1]) await take(plant, 127.9, morning + day * minutes(60 * 24));
  await plant.close();
  const [archive, backups, data] = ['archive', 'backups', 'data'].map((name) => join(root, name)) as [
    string,
    string,
    string,
  ];
  const inDatabase = { DATABASE_URL: address };
  const inFile = { DATA_DIR: data };
  const file = join(data, 'plant.sqlite');
  const second = `${address}?plant=2`;

  expect(await command('archive', ['--before', '2025-09-01', archive], inDatabase)).toMatch(/^0: wrote/);
  expect(await command('archive', ['--release', archive], inDatabase)).toMatch(/^0: .*Keep this folder/s);
  const backup = await command('backup', [backups], inDatabase);
  expect(backup).toMatch(
    /^0: .*Not in it: 2025-08 in .*archive \(manifest.json with SHA-256 [0-9a-f]{64}\)/s,
  );
  const [taken = ''] = /\/\S+\.sqlite/.exec(backup) ?? [];
  expect(await command('restore', [taken, data], {})).toMatch(
    /^0: .*Not in the backup: 2025-08 in .*npm run archive -- --read/s,
  );
  expect(await command('verify', [], inFile)).toMatch(
    /^1: .*Old months are away: 2025-08 in .*archive .*Give its folder with --archive/s,
  );
  expect(await command('verify', ['--archive', archive], inFile)).toMatch(/^0: .*Everything agrees/s);
  expect(await command('move', [file, second], {})).toMatch(/^1: Of this plant 2025-08 in .* read them back/);
  expect(await command('archive', ['--read', archive], inFile)).toMatch(/^0: read/);
  expect(await command('verify', [], inFile)).toMatch(/^0: .*Everything agrees/s);
  expect(await command('move', [file, second], {})).toMatch(/^0: .*Moved: /s);
  expect(await command('verify', [], { DATABASE_URL: second })).toMatch(/^0: .*Everything agrees/s);
}, 300_000);

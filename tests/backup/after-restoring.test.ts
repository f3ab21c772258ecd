/** What a restore says of sealed secrets, and who may read what backup and restore write. */
import { spawn } from 'node:child_process';
import { randomBytes } from 'node:crypto';
import { chmodSync, mkdirSync, mkdtempSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { takeBackup } from '../../api/backup/take-backup.ts';
import { sealingBy } from '../../api/sealing.ts';
import { openSqliteStore } from '../../api/store/sqlite.ts';
import { builtServer } from '../faults/server-process.ts';

const root = mkdtempSync(join(tmpdir(), 'runtrue-restored-'));
afterAll(() => rmSync(root, { recursive: true }));

async function backupOf(name: string, secrets: { readonly people: number; readonly webhooks: number }) {
  const folder = join(root, name);
  mkdirSync(folder);
  const file = join(folder, 'plant.sqlite');
  const store = openSqliteStore(file);
  const { seal } = sealingBy(randomBytes(32));
  for (let i = 0; i < secrets.people; i++) {
    const person = `person-${i}`;
    const secret = seal('JBSWY3DPEHPK3PXP', person);
    await store.sql.run(
      'insert into second_factors (person_id, secret, last_step) values (?, ?, 0)',
      person,
      secret,
    );
  }
  // Begun and never finished: nobody signs in with it.
  await store.sql.run(
    `insert into second_factors (person_id, pending, last_step) values ('late', 'sealed', 0)`,
  );
  for (let i = 0; i < secrets.webhooks; i++) {
    const secret = seal('whsec_bm90IGEgc2VjcmV0', `webhook-${i}`);
    await store.sql.run(
      'insert into webhook_secrets (recipient_id, secret) values (?, ?)',
      `webhook-${i}`,
      secret,
    );
  }
  // As older versions kept it.
  await store.sql.run(
    `insert into webhook_secrets (recipient_id, secret) values ('old', 'whsec_bm90IGEgc2VjcmV0')`,
  );
  await store.close();
  const taken = await takeBackup({ databaseAddress: undefined, file }, join(folder, 'backups'), Date.now());
  return taken.file;
}

function restore(backup: string, folder: string, keyFile = ''): Promise<string> {
  const env = { ...process.env, SECRETS_KEY_FILE: keyFile };
  const child = spawn(process.execPath, [`${builtServer}restore.js`, backup, folder], { env });
  let printed = '';
  for (const output of [child.stdout, child.stderr])
    output.on('data', (chunk: Buffer) => {
      printed += chunk.toString();
    });
  return new Promise((done) => child.once('close', (code) => done(`${code}: ${printed}`)));
}

describe('a restored plant with sealed secrets', () => {
  it('names the key, where it belongs, and what is unusable without it', async () => {
    const backup = await backupOf('both', { people: 1, webhooks: 2 });
    const into = join(root, 'both', 'restored');
    const printed = await restore(backup, into);
    expect(printed).toMatch(/^0: Restored the plant/);
    expect(printed).toContain(
      'Not in the backup: the key that opens the authenticators of 1 person and the secrets of 2 webhooks.',
    );
    expect(printed).toContain(`put the secrets.key of the plant at ${join(into, 'secrets.key')}`);
    expect(printed).toContain('a recovery code, or a reset by an administrator');
    expect(printed).toContain('nothing is sent by these webhooks until each has a new secret');

    const keyFile = join(root, 'plant.key');
    expect(await restore(backup, join(root, 'both', 'no key'), keyFile)).toContain('Not in the backup');
    writeFileSync(keyFile, randomBytes(32).toString('base64'));
    expect(await restore(backup, join(root, 'both', 'with key'), keyFile)).not.toContain('Not in the backup');
  });

  it('speaks only of what there is', async () => {
    const backup = await backupOf('people', { people: 2, webhooks: 0 });
    const printed = await restore(backup, join(root, 'people', 'restored'));
    expect(printed).toContain('the key that opens the authenticators of 2 people.');
    expect(printed).not.toContain('webhook');
    const none = await backupOf('none', { people: 0, webhooks: 0 });
    expect(await restore(none, join(root, 'none', 'restored'))).not.toContain('secrets.key');
  });
});

it('backup and restored plant are readable by their owner only, also where the backup has become readable', async () => {
  const mode = (path: string) => (statSync(path).mode & 0o777).toString(8);
  const backup = await backupOf('modes', { people: 0, webhooks: 0 });
  expect(mode(backup)).toBe('600');
  chmodSync(backup, 0o644);
  const into = join(root, 'modes', 'restored');
  await restore(backup, into);
  expect(mode(into)).toBe('700');
  expect(mode(join(into, 'plant.sqlite'))).toBe('600');
});

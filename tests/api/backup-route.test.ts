import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { restoreBackup } from '../../api/backup/restore-backup.ts';
import { openSqliteStore } from '../../api/store/sqlite.ts';
import { openApp, problemOf, setUpPlant, type TestApp, widths } from './support.ts';

const folder = mkdtempSync(join(tmpdir(), 'runtrue-backup-route-'));
let app: TestApp;
beforeAll(async () => {
  app = openApp();
  await setUpPlant(app);
  const record = { id: 'alex', name: 'Alex', role: 'administrator' } as const;
  await app.call('PUT /api/people/{id}', { params: { id: 'alex' }, body: { record } });
});
afterAll(async () => {
  await app.close();
  rmSync(folder, { recursive: true });
});

const ask = (person: string | null): Promise<Response> =>
  app.fetch(
    new Request('http://127.0.0.1/api/backup', {
      headers: person === null ? {} : { 'Runtrue-Person': person },
    }),
  );

it('gives an administrator the whole plant as one file, and notes it', async () => {
  const sample = widths(127.1);
  const answer = await app.call('POST /api/samples', { body: sample });
  await app.store.transaction(({ sql }) =>
    sql.run(
      `insert into sessions (token_digest, person_id, began_at, last_used_at) values ('d', 'kim', 0, 0)`,
    ),
  );
  const response = await ask('alex');
  expect(response.status).toBe(200);
  expect(response.headers.get('content-type')).toBe('application/vnd.sqlite3');
  expect(response.headers.get('content-disposition')).toMatch(
    /^attachment; filename="runtrue-\d{8}T\d{6}Z\.sqlite"$/,
  );
  const bytes = Buffer.from(await response.arrayBuffer());
  expect(response.headers.get('content-length')).toBe(String(bytes.length));

  const file = join(folder, 'home.sqlite');
  writeFileSync(file, bytes);
  await restoreBackup(file, join(folder, 'restored'), 'plant.sqlite');
  const restored = openSqliteStore(join(folder, 'restored', 'plant.sqlite'));
  expect(await restored.acceptedAnswer(sample.id)).toEqual(answer);
  expect(await restored.plantModel()).toEqual(await app.store.plantModel());
  // A session that was ended since must not live again.
  expect(await restored.sql.all('select 1 as one from sessions')).toEqual([]);
  await restored.close();

  const note = await app.store.sql.one<{ who: string }>(
    `select person_id as who from audit_notes where what = 'backup taken'`,
  );
  expect(note).toEqual({ who: 'alex' });
});

it('refuses everybody else', async () => {
  expect((await problemOf(await ask('kim'))).detail).toContain('Only an administrator may take a backup');
  expect((await ask(null)).status).toBe(401);
});

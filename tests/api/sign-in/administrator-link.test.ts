/** The way back for an administrator who has lost everything: the built command, on plants of both engines. Rows 6.4.3 and 6.4.4 of docs/security.md. */
import { spawn } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, describe, expect, it, vi } from 'vitest';
import { letAdministratorIn } from '../../../api/sign-in/let-administrator-in.ts';
import { openReadSql } from '../../../api/store/open-read-sql.ts';
import { type RunningServer, startServer } from '../../browser/server.ts';
import { emptyDatabase } from '../../postgres/databases.ts';
import type { TestApp } from '../support.ts';
import { setUpSecondFactor } from './authenticator.ts';
import { addPerson, openSignedInApp, PASSWORD, TestBrowser } from './support.ts';

const folder = mkdtempSync(join(tmpdir(), 'runtrue-link-'));
const servers: RunningServer[] = [];
afterAll(async () => {
  await Promise.all(servers.map((server) => server.stop()));
  rmSync(folder, { recursive: true });
});

type Environment = Readonly<Record<string, string>>;

function run(program: string, environment: Environment, ...words: string[]) {
  const file = fileURLToPath(new URL(`../../../dist/server/${program}.js`, import.meta.url));
  const child = spawn(process.execPath, [file, ...words], { env: { ...process.env, ...environment } });
  return new Promise<{ code: number | null; printed: string }>((done) => {
    let printed = '';
    for (const output of [child.stdout, child.stderr])
      output.on('data', (chunk) => {
        printed += chunk;
      });
    child.once('close', (code) => done({ code, printed: printed.trim() }));
  });
}

/** A browser at a server that is a process. */
function browserAt({ address }: RunningServer): TestBrowser {
  const fetchThere = (request: Request): Promise<Response> => {
    const { pathname, search } = new URL(request.url);
    const { method, headers, body } = request;
    headers.set('Host', new URL(address).host);
    return fetch(`${address}${pathname}${search}`, { method, headers, body, duplex: 'half' } as RequestInit);
  };
  const app = { fetch: fetchThere, clock: { time: Date.now() } };
  return new TestBrowser(app as unknown as TestApp, address);
}

const NEW_PASSWORD = 'nine louder rollers';

async function notesOf({ DATABASE_URL, DATA_DIR }: Environment) {
  const { sql, close } = await openReadSql(DATABASE_URL, join(DATA_DIR!, 'plant.sqlite'));
  const notes = await sql.all<{ personId: string | null; about: string; detail: string }>(
    `select person_id as "personId", about, detail from audit_notes where what = ? order by no`,
    "let in again at the server's console",
  );
  await close();
  return notes.map(({ detail, ...rest }) => ({ ...rest, detail: JSON.parse(detail) }));
}

describe.concurrent('npm run administrator-link', () => {
  it.each(['sqlite', 'postgres'] as const)(
    'lets the only administrator of a plant in %s in again',
    async (engine) => {
      const environment: Environment = {
        DATA_DIR: mkdtempSync(join(folder, 'data-')),
        PUBLIC_URL: '',
        ...(engine === 'postgres' ? { DATABASE_URL: await emptyDatabase() } : { DATABASE_URL: '' }),
      };
      const start = async () => {
        const dataFolder = environment.DATA_DIR!;
        const started = await startServer({ program: 'main', dataFolder, signIn: 'on', environment });
        servers.push(started);
        return started;
      };
      let server = await start();
      await vi.waitFor(() => expect(server.output()).toMatch(/#first=[\w-]{43}\n/), { timeout: 30_000 });
      const [, first] = /#first=([\w-]{43})/.exec(server.output())!;
      const before = browserAt(server);
      await before.call('POST /api/one-time-links/first-administrator', {
        body: { token: first, person: { id: 'boss', name: 'Boss' }, password: PASSWORD },
      });
      await setUpSecondFactor(before);

      if (engine === 'sqlite') {
        const refused = await run('administrator-link', environment, 'boss');
        expect(refused.printed).toMatch(/^No link was made: A server works in .*; stop it, run this again,/);
        expect(refused.printed.split('\n')).toHaveLength(1);
        expect(refused.code).toBe(1);
        await before.call('GET /api/session');
        await server.stop();
      }
      const made = await run('administrator-link', { ...environment, PORT: '8099' }, 'boss');
      expect(made.code, made.printed).toBe(0);
      const [, token] = /^http:\/\/127\.0\.0\.1:8099\/sign-in#link=([\w-]{43})$/m.exec(made.printed)!;
      if (engine === 'sqlite') server = await start();

      // Nothing of before opens anything, though the link was not used yet.
      const old = browserAt(server);
      for (const [name, value] of before.cookies) old.cookies.set(name, value);
      expect((await old.refused('GET /api/accounts')).status).toBe(401);
      const inOtherHands = { personId: 'boss', password: PASSWORD };
      expect((await browserAt(server).refused('POST /api/session', { body: inOtherHands })).status).toBe(401);

      const after = browserAt(server);
      const secrets = { body: { token, password: NEW_PASSWORD } };
      await after.call('POST /api/one-time-links/secrets', secrets);
      const accounts = await after.call('GET /api/accounts');
      expect(JSON.stringify(accounts)).toContain('"hasSecondFactor":false');
      expect((await browserAt(server).refused('POST /api/one-time-links/secrets', secrets)).status).toBe(404);
      await setUpSecondFactor(after, NEW_PASSWORD);
      // The first start asks who becomes administrator; this was none.
      if (engine === 'sqlite') expect(server.output()).not.toContain('#first=');
      await server.stop();

      expect(await notesOf(environment)).toEqual([
        {
          personId: null,
          about: 'boss',
          detail: { newAdministrator: false, account: expect.stringMatching(/^\w.*@./) },
        },
      ]);
      const verified = await run('verify', environment);
      expect(verified.printed).toContain('Everything agrees');
    },
    120_000,
  );

  it('makes no plant where there is none, and says how it is used', async () => {
    const environment = { DATA_DIR: mkdtempSync(join(folder, 'data-')), DATABASE_URL: '' };
    const nowhere = await run('administrator-link', environment, 'boss');
    expect(nowhere.printed).toMatch(/^No link was made: There is no plant in .*DATA_DIR or DATABASE_URL/);
    expect(nowhere.code).toBe(1);
    const without = await run('administrator-link', environment);
    expect(without.printed).toContain('npm run administrator-link -- kim');
    expect(without.code).toBe(2);
  }, 60_000);
});

describe('whom it lets in', () => {
  const account = 'operator@server';

  it('is an administrator, or a new one with a name; nobody is promoted, and a refusal changes nothing', async () => {
    const { app, administrator, newBrowser } = await openSignedInApp();
    const tech = await addPerson(administrator, 'tess', 'tech');
    const at = app.clock.time;
    const refusal = (personId: string, name: string | null) =>
      letAdministratorIn(app.store, { personId, name, account }, at).then(
        () => 'let in',
        (error: Error) => `${error.name}: ${error.message}`,
      );
    expect(await refusal('tess', 'Tess')).toMatch(/^NotLetIn: "tess" is a person with another role \(tech\)/);
    expect(await refusal('nina', null)).toMatch(/^NotLetIn: There is no person "nina"; .*whole name/);
    expect(await refusal('not one', 'Nina')).toMatch(/^NotLetIn: The short name is refused: /);
    expect(await refusal('nina', ' ')).toMatch(/^NotLetIn: The name is refused: /);
    expect((await app.store.plantModel()).people.map(({ id }) => id).sort()).toEqual(['boss', 'tess']);
    await tech.call('GET /api/session');
    await administrator.call('GET /api/accounts');

    const token = await letAdministratorIn(app.store, { personId: 'nina', name: 'Nina', account }, at);
    const nina = newBrowser();
    await nina.call('POST /api/one-time-links/secrets', { body: { token, password: PASSWORD } });
    await nina.call('GET /api/accounts');
    // The others were left in peace.
    await administrator.call('GET /api/accounts');
    const [change] = await app.store.sql.all<Record<string, unknown>>(
      `select reason, person_id as "personId" from plant_changes where id = 'nina'`,
    );
    expect(change).toEqual({ reason: "Added at the server's console", personId: 'nina' });
    await app.close();
  });

  it('takes the place of an earlier link, and ends after a day', async () => {
    const { app, newBrowser } = await openSignedInApp();
    const boss = { personId: 'boss', name: null, account };
    const [first, second] = [
      await letAdministratorIn(app.store, boss, app.clock.time),
      await letAdministratorIn(app.store, boss, app.clock.time),
    ];
    const use = (token: string) =>
      newBrowser().refused('POST /api/one-time-links/secrets', { body: { token, password: PASSWORD } });
    expect((await use(first!)).status).toBe(404);
    // With a link on its way nobody else is offered to become the first administrator.
    expect(await app.signIn!.firstStart()).toBeNull();
    app.clock.time += 24 * 3_600_000;
    expect((await use(second!)).status).toBe(404);
    expect(await app.signIn!.firstStart()).not.toBeNull();
    await app.close();
  });
});

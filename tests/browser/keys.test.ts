/** The administrators' page in a real browser: a key for a program, and an account at a real sign-in provider. */
import { mkdtempSync, rmSync } from 'node:fs';
import { type AddressInfo, createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest';
import { CALLBACK_PATH } from '../../api/oidc/settings.ts';
import {
  CLIENT_SECRET,
  type IdentityProvider,
  startIdentityProvider,
} from '../security/identity-provider.ts';
import { accessibilityFindings, openBrowser } from './browser.ts';
import { type RunningServer, startServer } from './server.ts';

const freePort = (): Promise<number> =>
  new Promise((done) => {
    const server = createServer().listen(0, '127.0.0.1', () => {
      const { port } = server.address() as AddressInfo;
      server.close(() => done(port));
    });
  });

const folder = mkdtempSync(join(tmpdir(), 'runtrue-keys-'));
let home: string;
let idp: IdentityProvider;
let server: RunningServer;
let browser: Browser;
let boss: Page;

beforeAll(async () => {
  const port = await freePort();
  // By name, so that the provider at 127.0.0.1 is another site to the browser.
  home = `http://localhost:${port}`;
  idp = await startIdentityProvider([home + CALLBACK_PATH]);
  server = await startServer({
    program: 'main',
    dataFolder: folder,
    signIn: 'on',
    environment: {
      PORT: String(port),
      PUBLIC_URL: home,
      OIDC_ISSUER: idp.issuer,
      OIDC_CLIENT_ID: 'runtrue',
      OIDC_CLIENT_SECRET: CLIENT_SECRET,
      OIDC_NAME: 'the works account',
    },
  });
  await vi.waitFor(() => expect(server.output()).toContain('#first='), { timeout: 30_000 });
  browser = await openBrowser();
  boss = await browser.newPage();
  await boss.goto(`${home}/sign-in#first=${/#first=([\w-]+)/.exec(server.output())![1]}`);
  await boss.getByLabel('Short name').fill('boss');
  await boss.getByLabel('Name', { exact: true }).fill('Bo');
  await boss.getByLabel('New password').fill('seven quiet rollers');
  await boss.getByRole('button', { name: 'Begin' }).click();
  await boss.waitForURL(`${home}/`);
  await boss.goto(`${home}/people`);
  await boss.getByRole('heading', { name: 'Keys of programs' }).waitFor();
}, 180_000);
afterAll(async () => {
  await browser?.close();
  await server?.stop();
  await idp?.close();
  rmSync(folder, { recursive: true, force: true });
});

describe('a key for a program', () => {
  const reads = (secret: string) =>
    fetch(`${home}/api/plant`, { headers: { Authorization: `Bearer ${secret}` } });

  it('is made, shown once, works, and ends when it is revoked', async () => {
    await boss.getByLabel('Short name of the key').fill('fixture-3');
    await boss.getByLabel('What it is for').fill('Width fixture 3');
    await boss.getByLabel('Read everything it reaches').check();
    await boss.getByRole('button', { name: 'Make the key' }).click();
    const shown = boss.getByText(/^runtrue_[0-9a-f]{72}$/);
    await shown.waitFor();
    const secret = (await shown.textContent())!;
    expect((await reads(secret)).status).toBe(200);
    const row = boss.getByRole('row', { name: /key\.fixture-3/ });
    expect(await row.textContent()).toContain('Enter samples, Read everything it reaches');
    expect(await accessibilityFindings(boss)).toEqual([]);
    // On a phone nothing hangs out sideways.
    const size = boss.viewportSize()!;
    await boss.setViewportSize({ width: 360, height: 800 });
    expect(await boss.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(360);
    await boss.setViewportSize(size);
    await boss.screenshot({ path: '/tmp/w14/wide.png', fullPage: true });

    await boss.reload();
    await row.waitFor();
    expect(await boss.getByText(secret).count()).toBe(0);
    expect(await row.textContent()).toMatch(/\d{4}-\d\d-\d\d/);
    boss.once('dialog', (dialog) => dialog.accept('The fixture was scrapped'));
    await row.getByRole('button', { name: 'Revoke key.fixture-3' }).click();
    await row.getByText('revoked').waitFor();
    expect((await reads(secret)).status).toBe(401);
  });

  it('that cannot be made says why beside its field', async () => {
    await boss.getByLabel('Short name of the key').fill('fixture-3');
    await boss.getByLabel('What it is for').fill('Another');
    await boss.getByRole('button', { name: 'Make the key' }).click();
    await boss.getByText('There is a key key.fixture-3 already').first().waitFor();
    expect(await boss.getByLabel('Short name of the key').getAttribute('aria-invalid')).toBe('true');
  });
});

describe('an account at the sign-in provider', () => {
  it('comes in when an administrator has said who it is, across two sites, in a real browser', async () => {
    idp.accounts.set('sub-kim', { name: 'Kim Doe', email: 'kim@runtrue.example', email_verified: true });
    idp.state.next = 'sub-kim';
    const context = await browser.newContext();
    const kim = await context.newPage();
    await kim.goto(`${home}/sign-in`);
    await kim.getByRole('link', { name: 'Sign in with the works account' }).click();
    await kim.getByRole('heading', { name: 'Not signed in' }).waitFor();
    await kim.getByText('Ask an administrator to bind your account').waitFor();
    expect(await accessibilityFindings(kim)).toEqual([]);

    await boss.reload();
    const choice = boss.getByLabel('Which person is Kim Doe, kim@runtrue.example?');
    await choice.selectOption('boss');
    await vi.waitFor(async () => expect(await choice.inputValue()).toBe('boss'));

    await kim.getByRole('link', { name: 'To the sign-in page' }).click();
    await vi.waitFor(
      async () => {
        await kim.goto(`${home}/sign-in`);
        await kim.getByRole('link', { name: 'Sign in with the works account' }).click();
        await kim.waitForURL(`${home}/`, { timeout: 10_000 });
      },
      { timeout: 60_000 },
    );
    const session = await kim.evaluate(() => fetch('/api/session').then((answer) => answer.json()));
    expect(session.person).toMatchObject({ id: 'boss', name: 'Bo' });
    const cookies = await context.cookies(home);
    expect(cookies.find(({ name }) => name === 'runtrue-session')).toMatchObject({
      httpOnly: true,
      sameSite: 'Strict',
    });
    expect(await kim.evaluate(() => document.cookie)).toBe('');
    await context.close();
  });
});

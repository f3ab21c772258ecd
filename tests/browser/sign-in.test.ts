/** The way of a plant with sign-in, through the page: first start, people, a station, a lost session, two signatures. */
import { mkdir, mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { Browser, BrowserContext, Page } from 'playwright-core';
import decodeQR from 'qr/decode.js';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { codeAt } from '../api/sign-in/authenticator.ts';
import { accessibilityFindings, openBrowser } from './browser.ts';
import { gearPlant } from './plant.ts';
import { type RunningServer, startServer } from './server.ts';

const pictures = join(fileURLToPath(new URL('../..', import.meta.url)), 'dist/pictures');
const PASSWORD = 'seven quiet rollers';
/** Eight digits, so that no id or time in a log holds them by chance. */
const PIN = '28471936';

let folder = '';
let server: RunningServer;
let browser: Browser;
let office: BrowserContext;
let station: BrowserContext;
beforeAll(async () => {
  // Everything that the server ever says is held against the secrets at the end.
  process.env.LOG_LEVEL = 'trace';
  folder = await mkdtemp(join(tmpdir(), 'runtrue-sign-in-'));
  await mkdir(pictures, { recursive: true });
  [server, browser] = await Promise.all([
    startServer({ program: 'main', dataFolder: folder, signIn: 'on' }),
    openBrowser(),
  ]);
  office = await browser.newContext();
  station = await browser.newContext({ viewport: { width: 1024, height: 768 } });
}, 180_000);
afterAll(async () => {
  await browser?.close();
  await server?.stop();
  await rm(folder, { recursive: true, force: true });
});

/** Narrow and light, wide and dark: nothing for axe to find, nothing sideways; the pictures are for people. */
async function lookAt(page: Page, name: string): Promise<void> {
  const size = page.viewportSize()!;
  for (const [width, colorScheme] of [
    [360, 'light'],
    [1440, 'dark'],
  ] as const) {
    await page.setViewportSize({ width, height: 900 });
    await page.emulateMedia({ colorScheme });
    expect(await accessibilityFindings(page), `${name}, ${width}, ${colorScheme}`).toEqual([]);
    const beyond = await page.evaluate(() =>
      document.documentElement.scrollWidth <= innerWidth
        ? []
        : [...document.querySelectorAll('main *')]
            .filter((one) => one.getBoundingClientRect().right > innerWidth && !one.closest('.scroll'))
            .map((one) => `${one.tagName}.${one.className}`),
    );
    expect(beyond, `${name}, ${width}`).toEqual([]);
    await page.screenshot({ path: join(pictures, `sign-in-${name}-${width}.png`) });
  }
  await page.emulateMedia({ colorScheme: 'light' });
  await page.setViewportSize(size);
}

/** What the page itself would send. */
async function put(context: BrowserContext, path: string, record: object): Promise<void> {
  const response = await context.request.put(`${server.address}/api/${path}`, {
    headers: { Origin: server.address },
    data: { record },
  });
  expect(response.status(), `${path}: ${await response.text()}`).toBe(200);
}

/** Opens a one-time link in a browser of its own and chooses both secrets. */
async function useLink(link: string): Promise<BrowserContext> {
  const context = await browser.newContext();
  const page = await context.newPage();
  await page.goto(link);
  await page.getByLabel('New password').fill(PASSWORD);
  await page.getByLabel('New PIN').fill(PIN);
  await page.getByRole('button', { name: 'Save and sign in' }).click();
  await page.getByRole('button', { name: /^Person / }).waitFor();
  await page.close();
  return context;
}

describe('a plant with sign-in', () => {
  it('begins with a link on the console, which makes the first administrator', async () => {
    const link = await expect
      .poll(() => /http\S+\/sign-in#first=[\w-]+/.exec(server.output())?.[0], { timeout: 10_000 })
      .toBeDefined()
      .then(() => /http\S+\/sign-in#first=[\w-]+/.exec(server.output())![0]);
    const page = await office.newPage();
    await page.goto(server.address);
    await page.getByRole('heading', { name: 'Sign in' }).waitFor();
    await lookAt(page, 'nobody');
    await page.goto(link);
    await page.getByRole('heading', { name: 'The first administrator' }).waitFor();
    await page.getByLabel('Short name').fill('boss');
    await page.getByLabel('Name', { exact: true }).fill('Person boss');
    await page.getByLabel('New password').fill('password1234');
    await page.getByRole('button', { name: 'Begin' }).click();
    await page.getByText(/^This is one that others guess early/).waitFor();
    await page.getByText('What is wrong stands beside the fields.').waitFor();
    await lookAt(page, 'first-administrator');
    await page.getByLabel('New password').fill(PASSWORD);
    await page.getByRole('button', { name: 'Begin' }).click();
    await page.getByText('This plant is empty').waitFor();
    await page.getByRole('button', { name: 'Person boss' }).waitFor();
    await page.close();
  });

  it('has its people added by the administrator; each chooses secrets by a one-time link', async () => {
    for (const [path, record] of gearPlant({
      nominal: 1,
      lowerSpecificationLimit: 0.9,
      upperSpecificationLimit: 1.1,
    })) {
      if (/^(?:specifications|plans)/.test(path)) continue;
      await put(
        office,
        path,
        path.startsWith('people/') ? { ...record, name: `Person ${path.slice(7)}` } : record,
      );
    }
    const page = await office.newPage();
    await page.goto(`${server.address}/people`);
    const links: Record<string, string> = {};
    for (const id of ['engineer', 'tech', 'quality']) {
      await page.getByRole('button', { name: `One-time link for Person ${id}` }).click();
      await page.getByText(`One-time link for Person ${id}`).first().waitFor();
      await expect
        .poll(async () => {
          links[id] = (await page.locator('.one-time-secret').textContent()) ?? '';
          return Object.values(links).filter((link) => link === links[id]).length;
        })
        .toBe(1);
      expect(links[id]).toMatch(/\/sign-in#link=[\w-]{43}$/);
    }
    await lookAt(page, 'people');
    for (const [id, link] of Object.entries(links)) {
      const context = await useLink(link);
      if (id === 'engineer')
        for (const [path, record] of gearPlant({
          nominal: 1,
          lowerSpecificationLimit: 0.9,
          upperSpecificationLimit: 1.1,
        }))
          if (/^(?:specifications|plans)/.test(path))
            await put(context, path, path.startsWith('plans') ? { ...record, sampleSize: 2 } : record);
      await context.close();
    }
    // Without a reload: the page looks again by itself.
    await page
      .getByRole('row', { name: /Person tech/ })
      .getByText('password and PIN')
      .waitFor();
    await page.close();
  });

  it('has a browser registered as a station, where a PIN is enough', async () => {
    const admin = await office.newPage();
    await admin.goto(`${server.address}/people`);
    await admin.getByLabel('Station', { exact: true }).selectOption('B1');
    await admin.getByRole('button', { name: 'Make a code' }).click();
    const code = (await admin.locator('.one-time-secret').textContent())!;
    await lookAt(admin, 'code');
    const page = await station.newPage();
    await page.goto(`${server.address}/sign-in`);
    await page.getByText('This browser stands at a station for good').click();
    await page.getByLabel('Code').fill(code.toLowerCase());
    await page.getByRole('button', { name: 'Register this browser' }).click();
    // The board can be read although nobody is signed in.
    await page
      .getByRole('link', { name: /^Floor/ })
      .first()
      .click();
    await page.getByRole('heading', { name: 'No open alarm' }).waitFor();
    await page.getByRole('button', { name: 'Sign in' }).click();
    const dialog = page.getByRole('dialog', { name: 'Sign in' });
    await dialog.getByRole('button', { name: /Person tech/ }).waitFor();
    await lookAt(page, 'names');
    await dialog.getByRole('button', { name: /Person tech/ }).click();
    await dialog.getByRole('button', { name: '9', exact: true }).waitFor();
    await lookAt(page, 'pin');
    for (const digit of '9999') await dialog.getByRole('button', { name: digit, exact: true }).click();
    await dialog.getByRole('button', { name: 'Sign in', exact: true }).click();
    await dialog.getByText('Name and PIN do not belong together').first().waitFor();
    for (const digit of PIN) await dialog.getByRole('button', { name: digit, exact: true }).click();
    await dialog.getByRole('button', { name: 'Sign in', exact: true }).click();
    await page.getByRole('button', { name: 'Person tech' }).waitFor();
    await page.getByRole('button', { name: 'Person tech' }).click();
    await lookAt(page, 'signed-in');
    await page.close();
    await admin.close();
  });

  it('loses nothing when the session ends while a tech types: the sample waits and is sent after signing in', async () => {
    const page = await station.newPage();
    await page.goto(`${server.address}/station`);
    await page
      .locator('[data-stream="diameter-1"]')
      .getByRole('button', { name: /Measure/ })
      .click();
    await page.getByRole('textbox').first().fill('1,01');
    // Meanwhile the same person leaves every device, from another one.
    const elsewhere = await browser.newContext();
    const origin = { Origin: server.address };
    const data = { personId: 'tech', password: PASSWORD };
    expect(
      (await elsewhere.request.post(`${server.address}/api/session`, { headers: origin, data })).status(),
    ).toBe(200);
    await elsewhere.request.delete(`${server.address}/api/session/everywhere`, { headers: origin });
    await elsewhere.close();
    await page.getByRole('textbox').first().press('Enter');
    await page.getByRole('textbox').nth(1).fill('0,99');
    await page.getByRole('textbox').nth(1).press('Enter');
    await page.getByText('You are no longer signed in').waitFor();
    const dialog = page.getByRole('dialog', { name: 'Sign in' });
    await dialog.getByRole('button', { name: /Person tech/ }).waitFor();
    await page.screenshot({ path: join(pictures, 'sign-in-lost-session.png') });
    const samples = async () =>
      (await (await office.request.get(`${server.address}/api/review?streamId=diameter-1&modelId=G1`)).json())
        .samples;
    expect(await samples()).toEqual([]);
    // A reload, and somebody else who signs in first, change nothing about it.
    await page.reload();
    await page.getByText('Not stored yet: kept on this device').waitFor();
    await signInBy(page, 'engineer');
    await page.getByText('as soon as whoever entered it signs in again: Person tech').waitFor();
    expect(await samples()).toEqual([]);
    await page.getByRole('button', { name: 'Person engineer' }).click();
    await page.getByRole('button', { name: 'Sign out', exact: true }).click();
    await signInBy(page, 'tech');
    await page
      .getByText(/^Stored now/)
      .first()
      .waitFor();
    expect(await samples()).toMatchObject([
      { personId: 'tech', readings: [{ value: 1.01 }, { value: 0.99 }] },
    ]);
    await page.close();
  });

  it('changes a sampling plan by two signatures, the second proven on the spot', async () => {
    const page = await station.newPage();
    await page.goto(`${server.address}/setup`);
    await page.getByRole('button', { name: 'Person tech' }).click();
    await page.getByRole('button', { name: 'Sign out', exact: true }).click();
    await signInBy(page, 'engineer');
    const section = page.locator('details', { has: page.getByRole('heading', { name: 'Sampling plans' }) });
    await section.locator('summary').click();
    await section.getByRole('button', { name: /Change/ }).click();
    const dialog = page.getByRole('dialog', { name: 'Change the sampling plan' });
    await dialog.getByLabel('Minutes between samples').fill('30');
    await dialog.getByLabel('Why this change?').fill('Twice as often');
    await dialog.getByRole('button', { name: 'Save' }).click();
    await dialog.getByText('needs two signatures').first().waitFor();
    await dialog.getByLabel('Second person').selectOption('quality');
    await dialog.getByLabel('Their PIN or password').fill('9999');
    await dialog.getByRole('button', { name: 'Save' }).click();
    await dialog.getByText('of the second person do not belong together').first().waitFor();
    await lookAt(page, 'second-signature');
    await dialog.getByLabel('Their PIN or password').fill(PIN);
    await dialog.getByRole('button', { name: 'Save' }).click();
    await dialog.waitFor({ state: 'detached' });
    const plant = await (await office.request.get(`${server.address}/api/plant`)).json();
    expect(plant.plans[0].intervalMinutes).toBe(30);
    await page.close();
  });

  it('asks an administrator who comes by a password alone for a second factor, which the keyboard sets up', async () => {
    const desk = await browser.newContext({ permissions: [] });
    const page = await desk.newPage();
    await page.goto(server.address);
    await page.getByLabel('Your short name').fill('boss');
    await page.getByLabel('Password', { exact: true }).fill(PASSWORD);
    await page.keyboard.press('Enter');
    await page.getByRole('heading', { name: 'Set up a second factor' }).waitFor();
    await page.getByLabel('Your present password').fill('not it at all');
    await page.keyboard.press('Enter');
    await page.getByText('is not your password').first().waitFor();
    await page.getByLabel('Your present password').fill(PASSWORD);
    await page.keyboard.press('Enter');
    const picture = page.getByRole('img', { name: /Picture for the authenticator/ });
    await picture.locator('path[d^="M"]').waitFor();
    await lookAt(page, 'second-factor');
    const key = ((await page.locator('.one-time-secret').textContent()) ?? '').replaceAll(' ', '');
    expect(new URL(await readPicture(page)).searchParams.get('secret')).toBe(key);
    const recoveryCodes = await page.locator('.recovery-codes li').allTextContents();
    expect(recoveryCodes).toHaveLength(10);
    // On paper there are the codes, and not the key.
    await page.emulateMedia({ media: 'print' });
    expect(await page.locator('.recovery-codes li').first().isVisible()).toBe(true);
    expect(await page.locator('.one-time-secret').isVisible()).toBe(false);
    expect(await picture.isVisible()).toBe(false);
    await page.emulateMedia({ media: 'screen' });
    const code = page.getByLabel('Code that the authenticator shows now');
    await code.fill('000000');
    await page.keyboard.press('Enter');
    await page.getByText('This is not the code').first().waitFor();
    await code.fill(codeAt(key, Date.now()));
    await page.keyboard.press('Enter');
    await page.getByRole('button', { name: 'Person boss' }).waitFor();

    // Signed in again, with a recovery code; the one before cannot be used any more.
    await page.getByRole('button', { name: 'Person boss' }).click();
    await page.getByText('Where you are signed in').click();
    await page.getByText('Away from the stations (here)').waitFor();
    await page.getByText('Chromium on Linux, by password and code').waitFor();
    await page.getByText('Second factor', { exact: true }).click();
    await page.getByText('On. You have 10 unused recovery codes.').waitFor();
    await lookAt(page, 'own');
    await page.getByRole('button', { name: 'Sign out', exact: true }).click();
    await page.getByRole('button', { name: 'Sign in', exact: true }).waitFor();
    await page.goto(server.address);
    await page.getByLabel('Your short name').fill('boss');
    await page.getByLabel('Password', { exact: true }).fill(PASSWORD);
    await page.keyboard.press('Enter');
    const signInForm = page.locator('form', { has: page.getByLabel('Your short name') });
    await signInForm.getByLabel('Code').fill('AAAAA-AAAAA');
    await page.keyboard.press('Enter');
    await page.getByText('This is not the code').first().waitFor();
    await lookAt(page, 'code-asked');
    await signInForm.getByLabel('Code').fill(recoveryCodes[0]!);
    await page.keyboard.press('Enter');
    await page.getByText('9 recovery codes are left').waitFor();
    await lookAt(page, 'recovery-code-used');
    await page.getByRole('button', { name: 'Go on' }).click();
    await page.getByRole('button', { name: 'Person boss' }).waitFor();
    expect(await page.getByRole('dialog').isVisible()).toBe(false);

    await page.goto(`${server.address}/people`);
    await page
      .getByRole('row', { name: /Person boss/ })
      .getByText('password with code')
      .waitFor();
    const engineers = page.getByLabel('process engineer');
    await engineers.check();
    await page.getByRole('button', { name: 'Save', exact: true }).click();
    await page.getByText('It counts from the next sign-in').waitFor();
    await lookAt(page, 'roles');
    const roles = await (await desk.request.get(`${server.address}/api/second-factor/roles`)).json();
    expect(roles).toEqual({ roles: ['administrator', 'quality-manager', 'engineer'] });
    expect(server.output()).not.toContain(key);
    for (const one of recoveryCodes) expect(server.output()).not.toContain(one);
    await desk.close();
  });

  it('asks a page whose session was ended from elsewhere to sign in, without a reload', async () => {
    const [here, elsewhere] = await Promise.all([browser.newContext(), browser.newContext()]);
    const origin = { Origin: server.address };
    const data = { personId: 'tech', password: PASSWORD };
    for (const context of [here, elsewhere])
      await context.request.post(`${server.address}/api/session`, { headers: origin, data });
    const page = await here.newPage();
    await page.goto(`${server.address}/import`);
    await page.getByRole('button', { name: 'Person tech' }).waitFor();
    await elsewhere.request.delete(`${server.address}/api/session/everywhere`, { headers: origin });
    // Any question to the server tells, such as this one when somebody comes back to the window.
    await page.evaluate(() => dispatchEvent(new Event('focus')));
    await page.getByRole('dialog', { name: 'Sign in' }).getByLabel('Your short name').waitFor();
    expect(await page.getByRole('button', { name: 'Person tech' }).count()).toBe(0);
    await Promise.all([here.close(), elsewhere.close()]);
  });

  it('prints no secret on its console, and no link once there is an administrator', async () => {
    expect(server.output()).toContain('/api/session');
    const cookies = await Promise.all([office, station].map((context) => context.cookies()));
    const secrets = [PASSWORD, PIN, 'password1234', ...cookies.flat().map(({ value }) => value)];
    for (const secret of secrets) expect(server.output()).not.toContain(secret);
    await server.stop();
    server = await startServer({ program: 'main', dataFolder: folder, signIn: 'on' });
    expect((await (await fetch(`${server.address}/api/session`)).json()).signIn).toBe('on');
    expect(server.output()).not.toContain('#first=');
  });
});

/** What a camera reads in the picture. */
async function readPicture(page: Page): Promise<string> {
  const svg = page.locator('.qr-picture');
  const squares = (await svg.locator('path').getAttribute('d'))!;
  const across = Number((await svg.getAttribute('viewBox'))!.split(' ')[2]);
  const scale = 8;
  const side = across * scale;
  const data = new Uint8Array(side * side * 4).fill(255);
  for (const [, x, y] of squares.matchAll(/M(\d+) (\d+)h1v1h-1z/g))
    for (let at = 0; at < scale * scale; at++) {
      const row = Number(y) * scale + Math.floor(at / scale);
      data.fill(
        0,
        (row * side + Number(x) * scale + (at % scale)) * 4,
        (row * side + Number(x) * scale + (at % scale)) * 4 + 3,
      );
    }
  return decodeQR({ width: side, height: side, data });
}

/** At the station, through the dialog in the masthead. */
async function signInBy(page: Page, id: string): Promise<void> {
  const dialog = page.getByRole('dialog', { name: 'Sign in' });
  if (!(await dialog.isVisible())) await page.getByRole('button', { name: 'Sign in', exact: true }).click();
  await dialog.getByRole('button', { name: new RegExp(`Person ${id}`) }).click();
  await dialog.getByLabel('PIN').fill(PIN);
  await dialog.getByLabel('PIN').press('Enter');
  await page.getByRole('button', { name: `Person ${id}` }).waitFor();
}

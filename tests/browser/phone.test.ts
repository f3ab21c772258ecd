/** A phone held upright: what is typed into is in sight, fingers reach what ends it, and what is wider says so. */
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Browser, Locator, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { accessibilityFindings, openBrowser } from './browser.ts';
import { gearPlant, setUpPlant } from './plant.ts';
import { type RunningServer, startServer } from './server.ts';

const WIDTH = 390;
const HEIGHT = 844;
const LONG_NAME = 'Somebody whose name is longer than most';

/** A weld bead of at most 0.25 mm, on the bench of the gear plant; and somebody who looks after the server. */
const beads = gearPlant({ nominal: 0, lowerSpecificationLimit: 0, upperSpecificationLimit: 0.25 }).map(
  ([path, record]): [string, object] => {
    if (path === 'characteristics/diameter') return [path, { ...record, name: 'Bead height', unit: 'mm' }];
    if (path === 'plans/diameter-1') return [path, { ...record, sampleSize: 5 }];
    if (!path.startsWith('specifications/')) return [path, record];
    return [path, { ...record, nominal: null, lowerSpecificationLimit: null }];
  },
);

let folder = '';
let server: RunningServer;
let browser: Browser;

beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'runtrue-phone-'));
  [server, browser] = await Promise.all([
    startServer({ program: 'main', dataFolder: folder }),
    openBrowser(),
  ]);
  const administrator = ['people/it', { id: 'it', name: 'IT', role: 'administrator' }] as const;
  const visitor = ['people/visitor', { id: 'visitor', name: LONG_NAME, role: 'tech' }] as const;
  await setUpPlant(server.address, [...beads, [...visitor], [...administrator]]);
}, 180_000);
afterAll(async () => {
  await browser?.close();
  await server?.stop();
  await rm(folder, { recursive: true, force: true });
});

async function openPage(
  path: string,
  person: string,
  { scheme = 'light' as 'light' | 'dark', width = WIDTH, height = HEIGHT } = {},
): Promise<Page> {
  const context = await browser.newContext({ colorScheme: scheme, viewport: { width, height } });
  await context.addInitScript((id) => localStorage.setItem('runtrue.person', id), person);
  const page = await context.newPage();
  await page.goto(server.address + path);
  return page;
}

const boxOf = async (locator: Locator) => (await locator.boundingBox())!;
const fits = async (page: Page) => {
  expect(await accessibilityFindings(page)).toEqual([]);
  const overflow = await page.evaluate(
    () => document.documentElement.scrollWidth - document.documentElement.clientWidth,
  );
  expect(overflow).toBeLessThanOrEqual(0);
};

describe.each(['light', 'dark'] as const)('a sample on a phone, %s', (scheme) => {
  it('is entered by fingers, with the field in sight, and asks about a slip', async () => {
    const page = await openPage('/station?station=B1', 'tech', { scheme });
    await page.getByRole('button', { name: /^Measure/ }).click();
    expect((await boxOf(page.getByRole('banner'))).height).toBeLessThan(HEIGHT * 0.15);
    const piece = (number: number) => page.getByLabel(`Piece ${number}`);
    await piece(1).waitFor();
    expect(await page.locator('.station-box').allTextContents()).toEqual(Array(5).fill('mm'));
    await fits(page);

    for (const number of [1, 2]) {
      await page.keyboard.type('0.24');
      await page.getByRole('button', { name: `Enter piece ${number}` }).click();
    }
    expect(await piece(3).evaluate((input) => input === document.activeElement)).toBe(true);
    await page.keyboard.type('2.30');
    await page.getByRole('button', { name: 'Enter piece 3' }).click();
    await page.locator('.station-question', { hasText: 'Did you mean 0.230 mm?' }).waitFor();
    await fits(page);
    await page.getByRole('button', { name: 'Change to 0.230 mm' }).click();

    await page.getByRole('button', { name: /^Keypad/ }).click();
    for (const number of [4, 5, 1, 2, 3]) {
      await piece(number).focus();
      const keys = await boxOf(page.locator('.station-typing'));
      const field = await boxOf(piece(number));
      expect(field.y).toBeGreaterThanOrEqual(0);
      expect(field.y + field.height).toBeLessThanOrEqual(keys.y);
    }
    await fits(page);
    await page.context().close();
  }, 60_000);
});

describe.each([
  ['light', 390],
  ['dark', 1440],
] as const)('what a role may not do, %s, %d px wide', (scheme, width) => {
  it('is shown in Setup as readable only, with who may', async () => {
    const page = await openPage('/setup', 'supervisor', { scheme, width });
    const plans = page.locator('details', { has: page.getByRole('heading', { name: 'Sampling plans' }) });
    await plans.locator('summary').click();
    await plans
      .getByText(
        'Only a process engineer or a quality manager may change specifications and sampling plans; you are here as a shift supervisor.',
      )
      .waitFor();
    expect(await page.getByRole('button', { name: /^(Add a|Change|Save)/ }).count()).toBe(0);
    expect(await plans.getByText('Wider than the screen').count()).toBe(width < 1000 ? 1 : 0);
    await fits(page);
    await plans.getByRole('button', { name: /^Look at/ }).click();
    const dialog = page.getByRole('dialog');
    expect(await dialog.getByLabel('Readings in a sample').isDisabled()).toBe(true);
    expect(await dialog.evaluate(({ scrollTop }) => scrollTop)).toBe(0);
    expect(await accessibilityFindings(page)).toEqual([]);
    await page.context().close();
  }, 60_000);

  it('is shown at the Station before anybody types', async () => {
    const page = await openPage('/station?station=B1', 'it', { scheme, width });
    await page
      .getByText(/^Only a quality tech, .* may enter samples; you are here as an administrator\.$/)
      .waitFor();
    expect(await page.getByRole('button', { name: /^Measure/ }).isDisabled()).toBe(true);
    expect(await page.getByRole('button', { name: 'Changeover' }).count()).toBe(0);
    await fits(page);
    await page.context().close();
  }, 60_000);
});

it('who is here is chosen from the top of the list again, however far it was scrolled', async () => {
  const page = await openPage('/station?station=B1', 'tech', { height: 320 });
  const dialog = page.getByRole('dialog', { name: 'Who is here?' });
  const scrolled = () => dialog.evaluate(({ scrollTop }) => scrollTop);
  const open = () => page.getByRole('banner').getByRole('button', { name: 'Tech' }).click();
  await open();
  await dialog.evaluate((element) => element.scrollTo(0, 10_000));
  expect(await scrolled()).toBeGreaterThan(0);
  await page.keyboard.press('Escape');
  await open();
  expect(await scrolled()).toBe(0);
  await page.context().close();
}, 60_000);

it('Setup lets those who may, and says beside its label what is wrong with a short name', async () => {
  const page = await openPage('/setup', 'engineer');
  const lines = page.locator('details', { has: page.getByRole('heading', { name: 'Lines' }) });
  await lines.locator('summary').click();
  await lines.getByRole('button', { name: 'Add a line' }).click();
  const dialog = page.getByRole('dialog');
  await dialog.getByLabel('Short name').fill('L 2');
  await dialog.getByLabel('Name', { exact: true }).fill('Line 2');
  await dialog.getByLabel('Parts an hour').fill('310');
  await dialog.getByLabel('Runs from').fill('06:00');
  await dialog.getByLabel('Runs until').fill('22:00');
  await dialog.getByLabel('Monday').check();
  await dialog.getByRole('button', { name: 'Save' }).click();
  await dialog.getByText(/^This must be letters, digits, dot, dash or underscore/).waitFor();
  await dialog.getByText('What is wrong stands beside the fields.').waitFor();
  await page.context().close();
}, 60_000);

it('no name in the masthead and no button in its dialog is cut', async () => {
  const page = await openPage('/station?station=B1', 'visitor');
  const banner = page.getByRole('banner');
  const cut = () =>
    banner
      .getByRole('button')
      .evaluateAll((buttons) =>
        buttons
          .filter(
            (one) => getComputedStyle(one).textOverflow === 'ellipsis' || one.scrollWidth > one.clientWidth,
          )
          .map((one) => one.textContent),
      );
  await banner.getByRole('button', { name: LONG_NAME }).click();
  await page.getByRole('dialog', { name: 'Who is here?' }).waitFor();
  expect(await cut()).toEqual([]);
  await page.keyboard.press('Escape');
  expect(await cut()).toEqual([]);
  await fits(page);
  await page.context().close();
}, 60_000);

it('asks before a time of day that is still to come today is recorded as yesterday', async () => {
  const page = await openPage('/station?station=B1', 'tech');
  // The plant's clock shows 20:00, of a day that is over so that the server takes what is recorded.
  const evening = Math.floor(Date.now() / 86_400_000) * 86_400_000 - 4 * 3_600_000;
  await page.route('**/api/health', async (route) => {
    const answer = await (await route.fetch()).json();
    await route.fulfill({ json: { ...answer, now: new Date(evening).toISOString() } });
  });
  const plant = await (await page.request.get(`${server.address}/api/plant`)).json();
  const shown = (time: number) =>
    new Date(time + plant.plant.utcOffsetMinutes * 60_000).toISOString().slice(11, 16);
  await page.reload();
  await page.getByText('More to record').click();
  await page.getByRole('button', { name: 'Regrind' }).click();
  const dialog = page.getByRole('dialog', { name: 'What was ground?' });
  const sent: string[] = [];
  page.on('request', (request) => {
    if (request.method() === 'POST' && request.url().endsWith('/api/events'))
      sent.push(request.postDataJSON().at);
  });
  await dialog.getByLabel('At', { exact: true }).fill(shown(evening + 30 * 60_000));
  await dialog.getByText(/^yesterday, .*, 23 h (29|30) min ago$/).waitFor();
  await dialog.getByRole('button', { name: 'Record', exact: true }).click();
  await dialog.getByText(/today is still to come\. Was it yesterday, 23 h/).waitFor();
  await fits(page);
  expect(sent).toEqual([]);
  // Another time takes the question back.
  await dialog.getByLabel('At', { exact: true }).fill(shown(evening - 5 * 60_000));
  expect(await dialog.getByText('still to come').count()).toBe(0);
  await dialog.getByLabel('At', { exact: true }).fill(shown(evening + 30 * 60_000));
  await dialog.getByRole('button', { name: 'Record', exact: true }).click();
  await dialog.getByRole('button', { name: 'It was yesterday: record' }).click();
  await dialog.waitFor({ state: 'detached' });
  expect(sent).toEqual([new Date(evening + 30 * 60_000 - 86_400_000).toISOString()]);
  await page.context().close();
}, 60_000);

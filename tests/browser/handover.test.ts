/** From one supervisor to the next, and a concession at its alarm, in a real browser, by keyboard. */
import { randomUUID } from 'node:crypto';
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { openSqliteStore } from '../../api/store/sqlite.ts';
import { fillPlant, models, streamOf } from '../faults/plant.ts';
import { accessibilityFindings, openBrowser } from './browser.ts';
import { type RunningServer, startServer } from './server.ts';

let folder = '';
let server: RunningServer;
let browser: Browser;
const mistakes: string[] = [];
/** Where to keep pictures of what the test sees; none where it is not set. */
const pictures = process.env.RUNTRUE_PICTURES;

async function send(path: string, body: object, person: string): Promise<Record<string, unknown>> {
  const response = await fetch(`${server.address}${path}`, {
    method: 'POST',
    headers: { 'Content-Type': 'application/json', 'Runtrue-Person': person },
    body: JSON.stringify({ id: randomUUID(), ...body }),
  });
  const answer = (await response.json()) as Record<string, unknown>;
  if (!response.ok) throw new Error(JSON.stringify(answer));
  return answer;
}

const measure = (mean: number): Promise<Record<string, unknown>> =>
  send(
    '/api/samples',
    {
      streamId: streamOf('L1'),
      modelId: models[0]!,
      takenAt: new Date().toISOString(),
      unit: 'mm',
      readings: [-0.2, -0.1, 0, 0.1, 0.2].map((difference) => ({ value: mean + difference })),
    },
    'tech',
  );

async function pageOf(person: string): Promise<Page> {
  const page = await browser.newPage({ viewport: { width: 1440, height: 900 } });
  await page.addInitScript((id) => localStorage.setItem('runtrue.person', id), person);
  page.on('pageerror', (error) => mistakes.push(error.message));
  return page;
}

const addPerson = (id: string, name: string, role: string) =>
  fetch(`${server.address}/api/people/${id}`, {
    method: 'PUT',
    headers: { 'Content-Type': 'application/json', 'Runtrue-Person': 'engineer' },
    body: JSON.stringify({ record: { id, name, role } }),
  });

let alarmId = 0;

beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'runtrue-handover-'));
  const store = openSqliteStore(join(folder, 'plant.sqlite'));
  await fillPlant(store, ['L1', 'L2'], Date.now());
  await store.close();
  server = await startServer({ program: 'main', dataFolder: folder });
  await addPerson('sam', 'Sam', 'supervisor');
  await addPerson('uma', 'Uma', 'supervisor');
  await addPerson('quinn', 'Quinn', 'quality-manager');
  alarmId = (await measure(129)).alarmId as number;
  await send(`/api/alarms/${alarmId}/entries`, { kind: 'acknowledged' }, 'sam');
  const quarantined = { kind: 'quarantined', countedParts: 620, text: 'Trolleys 4 to 9' };
  await send(`/api/alarms/${alarmId}/entries`, quarantined, 'sam');
  browser = await openBrowser();
});
afterAll(async () => {
  await browser?.close();
  await server?.stop();
  await rm(folder, { recursive: true, force: true });
});

async function isForEverybody(address: string, name: string, ready: string): Promise<void> {
  const page = await pageOf('uma');
  await page.goto(`${server.address}${address}`);
  await page.getByText(ready).first().waitFor();
  for (const width of [1440, 360]) {
    for (const colorScheme of ['light', 'dark'] as const) {
      await page.setViewportSize({ width, height: 900 });
      await page.emulateMedia({ colorScheme });
      expect(await accessibilityFindings(page), `${name} ${width} ${colorScheme}`).toEqual([]);
      const wide = await page.evaluate(() => document.documentElement.scrollWidth > innerWidth);
      expect(wide, `${name} ${width} scrolls sideways`).toBe(false);
      if (pictures !== undefined)
        await page.screenshot({
          path: join(pictures, `${name}-${width}-${colorScheme}.png`),
          fullPage: true,
        });
    }
  }
  await page.close();
}

it('signs a concession at the alarm, with the consent of the customer as the second signature', async () => {
  const page = await pageOf('quinn');
  await page.goto(`${server.address}/floor?alarm=${alarmId}`);
  await page.getByText('The customer takes parts as they are').press('Enter');
  const lastDay = new Date(Date.now() + 30 * 86_400_000).toISOString().slice(0, 10);
  const yesterday = new Date(Date.now() - 86_400_000).toISOString().slice(0, 10);
  const fill = (label: string, text: string) => page.getByLabel(label).fill(text);
  await fill('Customer, as the plant calls them', 'Customer 12');
  await fill('Where their consent can be read', 'Letter 117');
  await fill('Who gave it there', 'Their quality desk');
  await fill('On which day', lastDay);
  await fill('How many parts they take', '621');
  await fill('Last day', yesterday);
  await fill('Why the parts will do', 'No function on their axle');
  await page.getByRole('button', { name: 'Sign the concession' }).press('Enter');
  await page.getByText(`620 parts were counted at alarm ${alarmId}; give at most 620.`).first().waitFor();
  await page
    .getByText(/is to come; today is/)
    .first()
    .waitFor();
  await page
    .getByText(/is over already; today is/)
    .first()
    .waitFor();
  await fill('On which day', yesterday);
  await fill('Last day', lastDay);
  await fill('How many parts they take', '600');
  await page.getByRole('button', { name: 'Sign the concession' }).press('Enter');
  await page.getByText(`600 more may go until the end of ${lastDay}.`).waitFor();
  await page.getByRole('button', { name: 'Sign the concession' }).waitFor({ state: 'hidden' });
  await page.getByText('Release, take back or withdraw').press('Enter');
  await page.getByLabel('Parts', { exact: true }).fill('400');
  await page.getByLabel('Which, and why').fill('Trolleys 4 to 7');
  await page.getByRole('button', { name: 'Release these parts' }).press('Enter');
  await page.getByText('400 of 600 parts released under concession 1; 200 more may go').waitFor();
  expect(await accessibilityFindings(page)).toEqual([]);
  if (pictures !== undefined) await page.screenshot({ path: join(pictures, 'concession-at-alarm.png') });
  await page.close();
});

it('takes parts back under a concession that was withdrawn, and offers nothing else there', async () => {
  await send('/api/concessions/1/entries', { kind: 'withdrawn', text: 'Letter 118' }, 'quinn');
  const page = await pageOf('quinn');
  await page.goto(`${server.address}/concessions`);
  await page.getByText('Take released parts back').press('Enter');
  expect(await page.getByRole('button', { name: 'Withdraw the concession' }).count()).toBe(0);
  expect(await page.getByRole('button', { name: 'Release these parts' }).count()).toBe(0);
  await page.getByLabel('Parts', { exact: true }).fill('400');
  await page.getByLabel('Which, and why').fill('Trolleys 4 to 7 came back');
  await page.getByRole('button', { name: 'Take back' }).press('Enter');
  await page.getByText('0 of 600 parts released under concession 1. It was withdrawn').waitFor();
  await page.close();
});

it('is handed over by one supervisor, shown on Floor, and taken over by another who hears what came up', async () => {
  const sam = await pageOf('sam');
  await sam.goto(`${server.address}/floor`);
  await sam.getByRole('link', { name: 'Shift handover' }).press('Enter');
  await sam.getByText('620 counted by hand at the last count: Trolleys 4 to 9').waitFor();
  await sam.getByLabel('Temporary rules, and what to watch').fill('Line L1 at half speed.');
  if (pictures !== undefined)
    await sam.screenshot({ path: join(pictures, 'handover-give.png'), fullPage: true });
  // The list that Sam reads is out of date when they sign.
  await sam.route(
    '**/api/handovers',
    (route) => route.continue({ postData: { ...route.request().postDataJSON(), seen: [] } }),
    { times: 1 },
  );
  await sam.getByRole('button', { name: 'Hand over: I sign for this list' }).press('Enter');
  const unseen = sam.getByRole('alert').filter({ hasText: 'Something new came up' });
  await unseen.waitFor();
  const list = await sam.locator('.open-work').boundingBox();
  const notice = await unseen.boundingBox();
  expect(notice!.y).toBeLessThan(list!.y);
  expect(notice!.y).toBeGreaterThanOrEqual(0);
  await sam.getByRole('button', { name: 'Hand over: I sign for this list' }).press('Enter');
  await sam.getByRole('heading', { name: 'Handover 1 waits' }).waitFor();
  expect(await sam.getByRole('button', { name: 'I have read it: take over' }).count()).toBe(0);

  const uma = await pageOf('uma');
  await uma.goto(`${server.address}/floor`);
  await uma.getByText('Handover 1 waits: nobody has taken it over').waitFor();
  await uma.getByRole('link', { name: 'Read it and take it over' }).press('Enter');
  await uma.getByText('Line L1 at half speed.').waitFor();
  await send(
    '/api/events',
    {
      lineId: 'L2',
      stationId: null,
      streamId: null,
      kind: 'stoppage',
      at: new Date(Date.now() - 60_000).toISOString(),
      until: null,
      modelId: null,
      lot: null,
      text: 'Coil jam',
    },
    'tech',
  );
  await uma.getByText('1 thing came up after it was given').waitFor();
  await uma.getByText('Coil jam').waitFor();
  await isForEverybody('/handover?no=1', 'handover', 'Coil jam');
  // Given and signed, not taken over: one line waits for a signature.
  await uma.emulateMedia({ media: 'print' });
  expect(await uma.getByText('name and time:').allInnerTexts()).toEqual(['Takes over, name and time:']);
  await uma.emulateMedia({ media: 'screen' });
  await uma.getByRole('button', { name: 'I have read it: take over' }).press('Enter');
  await uma.getByRole('heading', { name: 'Handover 1 was taken over' }).waitFor();
  await uma.getByText(/Taken over by/).waitFor();
  await sam.getByRole('heading', { name: 'Handover 1 was taken over' }).waitFor();
  expect(mistakes).toEqual([]);
  await sam.close();
  await uma.close();
});

it('fits on two sheets of paper, without what is only to be pressed', async () => {
  const page = await pageOf('uma');
  await page.goto(`${server.address}/handover?no=1`);
  await page.getByText('Coil jam').waitFor();
  const pdf = await page.pdf({
    format: 'A4',
    ...(pictures !== undefined && { path: join(pictures, 'handover.pdf') }),
  });
  const sheets = pdf.toString('latin1').match(/\/Type\s*\/Page\b(?!s)/g) ?? [];
  expect(sheets.length).toBeGreaterThan(0);
  expect(sheets.length).toBeLessThanOrEqual(2);
  await page.emulateMedia({ media: 'print' });
  for (const button of await page.getByRole('button').all()) expect(await button.isVisible()).toBe(false);
  // Both have signed: no empty line asks for them again.
  expect(await page.getByText('name and time:').count()).toBe(0);
  if (pictures !== undefined)
    await page.screenshot({ path: join(pictures, 'handover-print.png'), fullPage: true });
  await page.goto(`${server.address}/handover`);
  await page.getByText('Gives, name and time:').waitFor();
  expect(await page.getByText('Takes over, name and time:').isVisible()).toBe(true);
  await page.close();
});

it('is for everybody: the draft and the list of concessions', async () => {
  await isForEverybody('/handover', 'handover-draft', 'Trolleys 4 to 9');
  await isForEverybody('/concessions', 'concessions', 'Customer 12');
  expect(mistakes).toEqual([]);
});

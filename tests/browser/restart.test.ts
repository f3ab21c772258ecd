/** The first piece after a tool change in a real browser: board, station, technician, engineer, by keyboard. */
import { randomUUID } from 'node:crypto';
import { mkdir, mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { openSqliteStore } from '../../api/store/sqlite.ts';
import { fillPlant, streamOf } from '../faults/plant.ts';
import { accessibilityFindings, openBrowser } from './browser.ts';
import { type RunningServer, startServer } from './server.ts';

const MINUTE = 60_000;
const pictures = process.env.PICTURES ?? null;

let folder = '';
let server: RunningServer;
let browser: Browser;
const mistakes: string[] = [];

beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'runtrue-first-piece-'));
  const store = openSqliteStore(join(folder, 'plant.sqlite'));
  await fillPlant(store, ['L1', 'L2'], Date.now());
  await store.close();
  server = await startServer({ program: 'main', dataFolder: folder });
  browser = await openBrowser();
  if (pictures !== null) await mkdir(pictures, { recursive: true });
});
afterAll(async () => {
  await browser?.close();
  await server?.stop();
  await rm(folder, { recursive: true, force: true });
});

async function send(path: string, body: unknown): Promise<void> {
  const response = await fetch(server.address + path, {
    method: 'POST',
    headers: { 'Content-Type': 'application/json', 'Runtrue-Person': 'tech' },
    body: JSON.stringify(body),
  });
  expect(response.status, await response.clone().text()).toBe(200);
}

async function change(kind: string, minutesAgo: number, modelId: string | null = null): Promise<string> {
  const id = randomUUID();
  await send('/api/events', {
    id,
    lineId: 'L1',
    stationId: kind === 'changeover' ? null : 'L1-end',
    streamId: null,
    kind,
    at: new Date(Date.now() - minutesAgo * MINUTE).toISOString(),
    until: null,
    modelId,
    lot: null,
    text: '',
  });
  return id;
}

const measure = (mean: number) =>
  send('/api/samples', {
    id: randomUUID(),
    streamId: streamOf('L1'),
    modelId: 'Q10',
    takenAt: new Date().toISOString(),
    unit: 'mm',
    readings: [-0.1, 0, 0.1, 0.2, -0.2].map((difference) => ({ value: mean + difference })),
  });

async function openAs(
  person: string,
  path: string,
  options: { scheme?: 'light' | 'dark'; width?: number } = {},
): Promise<Page> {
  const { scheme = 'light', width = 1280 } = options;
  const context = await browser.newContext({ colorScheme: scheme, viewport: { width, height: 900 } });
  await context.addInitScript((id) => localStorage.setItem('runtrue.person', id), person);
  const page = await context.newPage();
  page.on('pageerror', (error) => mistakes.push(error.message));
  await page.goto(server.address + path);
  return page;
}

/** Without a finding of axe and without sideways scrolling. */
async function fits(page: Page, name: string): Promise<void> {
  if (pictures !== null) await page.screenshot({ path: join(pictures, `${name}.png`), fullPage: true });
  expect(await accessibilityFindings(page), name).toEqual([]);
  const wide = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
  expect(wide, name).toBeLessThanOrEqual(0);
}

const firstPiece = /^First piece after the tool change/;
const done = 'The first piece is done: ready for approval';

it('shows the line as not approved, and leads the two people through the first piece by keyboard', async () => {
  await change('changeover', 90, 'Q10');
  const board = await openAs('supervisor', '/floor');
  await board.getByRole('heading', { name: /1 restart not approved/ }).waitFor();

  // The tool change overtakes it; the board hears of it by itself.
  const id = await change('tool change', 62);
  const waiting = board.locator(`[data-restart="${id}"]`);
  await waiting.getByText(/^⊘ Not approved since (.* )?\d\d:\d\d, about 45\d parts$/).waitFor();
  await fits(board, 'floor');

  const station = await openAs('tech', '/station?station=L1-end');
  await station.getByText('Measure at the station, whole samples as planned: Width, line L1.').waitFor();
  await fits(station, 'station');
  await station.getByRole('button', { name: /^First piece/ }).focus();
  await station.keyboard.press('Enter');
  const sheet = station.getByRole('dialog', { name: firstPiece });
  await sheet.getByText('Not measured yet: take 5 pieces.').waitFor();
  expect(await sheet.getByRole('button', { name: done }).isDisabled()).toBe(true);
  await fits(station, 'dialog-not-measured');

  // The way to the sample's form: what the first piece needs is due now.
  const form = sheet.getByRole('link', { name: /^Measure it at the station/ });
  const measuring = await openAs('tech', (await form.getAttribute('href'))!);
  await measuring
    .getByRole('heading', { name: /Width, line L1/ })
    .first()
    .waitFor();
  expect(await measuring.locator('.station-tasks').count()).toBe(0);

  // Outside the drawing: nothing to state, and the reason stands beside the button.
  await measure(127.9);
  await sheet.locator('[data-state="outside"]').waitFor();
  await sheet.getByText(/Not ready for approval: Width, line L1\./).waitFor();
  expect(await sheet.getByRole('button', { name: done }).isDisabled()).toBe(true);
  await sheet.getByText(/^Not yet: a result is outside the drawing or on a signal/).waitFor();

  // Good samples a moment later do not hide it.
  await measure(127);
  await sheet.locator('[data-state="good"]').waitFor();
  await sheet.getByText(/Since the change, at \d\d:\d\d: \d of 5 pieces/).waitFor();
  await sheet.getByRole('link', { name: /^Alarm \d+ is open/ }).waitFor();
  await fits(station, 'dialog-gone-wrong');
  await sheet.getByRole('button', { name: done }).focus();
  await station.keyboard.press('Enter');
  // Whoever stated it is not asked to approve it.
  await sheet.getByText(/^Only a process engineer may approve first pieces/).waitFor();
  expect(await sheet.getByRole('button', { name: 'Approve the restart' }).count()).toBe(0);
  await measure(127.9);
  await sheet.getByText(/Do not approve: Width, line L1\./).waitFor();

  const engineer = await openAs('engineer', `/floor?restart=${id}`, { scheme: 'dark' });
  const decision = engineer.getByRole('dialog', { name: firstPiece });
  expect(await decision.getByRole('button', { name: 'Approve the restart' }).isDisabled()).toBe(true);
  await decision.getByText(/^It cannot be approved: a result is outside the drawing/).waitFor();
  await decision.getByLabel('Why').focus();
  await engineer.keyboard.type('Set too wide.');
  await fits(engineer, 'dialog-outside-dark');
  await engineer.keyboard.press('Tab');
  await engineer.keyboard.press('Enter');
  await decision.getByText(/Engineer refused the first piece; it is measured anew\./).waitFor();

  await measure(127);
  await sheet.locator('[data-state="good"]').waitFor();
  await sheet.getByLabel('In words, if you like').fill('Setter moved the stop.');
  await sheet.getByRole('button', { name: done }).press('Enter');
  const approve = decision.getByRole('button', { name: 'Approve the restart' });
  await approve.focus();
  await fits(engineer, 'dialog-good-dark');
  await engineer.keyboard.press('Enter');
  await decision
    .getByText(/Engineer approved the first piece\. It says nothing about the parts made before/)
    .waitFor();
  await waiting.waitFor({ state: 'detached' });
  expect(await board.getByRole('heading', { level: 1 }).textContent()).not.toContain('not approved');

  // An approval that was a mistake is taken back by a further record.
  await decision.getByText('Take the approval back').press('Enter');
  await decision.getByLabel('Why').fill('The gauge was not set.');
  await fits(engineer, 'dialog-taken-back-dark');
  await decision.getByRole('button', { name: 'Not approved any more' }).press('Enter');
  await waiting.getByText(/Engineer refused the first piece/).waitFor();
  expect(mistakes).toEqual([]);
});

it('fits a phone, light and dark', async () => {
  for (const scheme of ['light', 'dark'] as const) {
    const board = await openAs('tech', '/floor', { scheme, width: 360 });
    await board.locator('[data-restart]').waitFor();
    await fits(board, `floor-phone-${scheme}`);
    await board.getByRole('button', { name: /^First piece/ }).click();
    await board.getByRole('dialog', { name: firstPiece }).locator('[data-state]').waitFor();
    await fits(board, `dialog-phone-${scheme}`);
    // For a finger in a glove.
    for (const button of await board.getByRole('dialog').getByRole('button').all()) {
      expect((await button.boundingBox())!.height).toBeGreaterThanOrEqual(56);
    }
    const station = await openAs('tech', '/station?station=L1-end', { scheme, width: 360 });
    await station.getByText('Measure at the station, whole samples as planned: Width, line L1.').waitFor();
    // The masthead above it is not of this test: what is new here lies inside the screen.
    const box = (await station.locator('[data-restart]').boundingBox())!;
    expect(box.x + box.width).toBeLessThanOrEqual(360);
    expect(await accessibilityFindings(station)).toEqual([]);
  }
  expect(mistakes).toEqual([]);
});

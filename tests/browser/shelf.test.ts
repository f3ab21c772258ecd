/** Shelving by keyboard, floods, the report of alarms, and messages that were given up, in a real browser. */
import { randomUUID } from 'node:crypto';
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { addDelivery, claimDue, markFailed } from '../../api/notify/deliveries.ts';
import { saveRoutingRecord } from '../../api/routing/routing-records.ts';
import { openSqliteStore } from '../../api/store/sqlite.ts';
import { fillPlant, models, streamOf } from '../faults/plant.ts';
import { reach } from '../notify/plant.ts';
import { accessibilityFindings, openBrowser } from './browser.ts';
import { type RunningServer, startServer } from './server.ts';

let folder = '';
let server: RunningServer;
let browser: Browser;
let page: Page;
const mistakes: string[] = [];

beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'runtrue-shelf-'));
  const store = openSqliteStore(join(folder, 'plant.sqlite'));
  const now = Date.now();
  await fillPlant(store, ['L1', 'L2'], now);
  await store.transaction(async (transaction) => {
    const { sql } = transaction;
    await saveRoutingRecord(
      transaction,
      reach('first', { by: 'webhook', url: 'http://127.0.0.1:9/' }),
      '',
      'engineer',
      now,
    );
    const message = { door: 'webhook', recipientId: 'first', topic: null, body: '{}' } as const;
    await addDelivery(sql, { ...message, subject: 'The process has changed at Line L1' }, now);
    const [row] = await claimDue(sql, 'webhook', now, now + 1, 1);
    await markFailed(sql, row!.no, 'The receiver answered with status 500.', null, now);
  });
  await store.close();
  server = await startServer({ program: 'main', dataFolder: folder });
  browser = await openBrowser();
  page = await browser.newPage({ viewport: { width: 1280, height: 900 } });
  await page.addInitScript(() => localStorage.setItem('runtrue.person', 'supervisor'));
  page.on('pageerror', (error) => mistakes.push(error.message));
});
afterAll(async () => {
  await browser?.close();
  await server?.stop();
  await rm(folder, { recursive: true, force: true });
});

async function measure(lineId: string, modelId: string, mean: number): Promise<void> {
  const response = await fetch(`${server.address}/api/samples`, {
    method: 'POST',
    headers: { 'Content-Type': 'application/json', 'Runtrue-Person': 'tech' },
    body: JSON.stringify({
      id: randomUUID(),
      streamId: streamOf(lineId),
      modelId,
      takenAt: new Date().toISOString(),
      unit: 'mm',
      readings: [-0.05, 0, 0.05, 0, 0].map((difference) => ({ value: mean + difference })),
    }),
  });
  expect(response.status, await response.clone().text()).toBe(200);
}

it('shelves an alarm by keyboard, keeps it in sight, and takes it back', async () => {
  await measure('L1', models[0], 127.5);
  await page.goto(`${server.address}/floor?alarm=1`);
  const dialog = page.getByRole('dialog', { name: /^Alarm 1/ });
  await dialog.getByLabel('Reason to let it wait').focus();
  await page.keyboard.type('The rolls are changed at two.');
  await page.keyboard.press('Tab');
  await page.keyboard.type('30');
  await page.keyboard.press('Tab');
  await page.keyboard.press('Enter');
  await dialog
    .getByText(/Shelved by Supervisor until .*: The rolls are changed at two\./)
    .first()
    .waitFor();
  expect(await accessibilityFindings(page)).toEqual([]);
  await page.keyboard.press('Escape');

  await page.getByRole('heading', { name: 'No open alarm' }).waitFor();
  const shelved = page.getByRole('region', { name: 'Shelved' });
  await shelved.getByText('The process has changed.').waitFor();
  expect(await accessibilityFindings(page)).toEqual([]);

  await shelved.getByRole('button').click();
  await dialog.getByLabel('Reason to take it back').fill('They are in.');
  await dialog.getByRole('button', { name: 'Take it back now' }).click();
  await dialog.getByLabel('Reason to let it wait').waitFor();
  await page.keyboard.press('Escape');
  await page.getByRole('heading', { name: /^1 open alarm/ }).waitFor();
});

it('says when more alarms come than one person can follow', async () => {
  for (let round = 0; round < 6; round++) {
    for (const lineId of ['L1', 'L2']) {
      await measure(lineId, models[1], 127.5);
      await measure(lineId, models[1], 127);
    }
  }
  await page.getByText(/1\d alarms came to this board since/).waitFor();
  expect(await accessibilityFindings(page)).toEqual([]);
});

it('reports alarms, and sends a message again that was given up', async () => {
  await page.goto(`${server.address}/floor`);
  await page.getByText('1 message could not be delivered.').waitFor();
  await page.getByRole('link', { name: 'See which, and why' }).click();
  await page.getByRole('heading', { name: /^1\d alarms, / }).waitFor();
  await page.getByRole('table', { name: 'The ten most frequent' }).waitFor();
  expect(await accessibilityFindings(page)).toEqual([]);
  const csv = await page.getByRole('link', { name: 'Every alarm as CSV' }).getAttribute('href');
  const rows = (
    await (await fetch(`${server.address}${csv}`, { headers: { 'Runtrue-Person': 'tech' } })).text()
  )
    .trim()
    .split('\r\n');
  expect(rows.length).toBeGreaterThan(10);

  const again = page.getByRole('button', { name: /^Send again/ });
  await page.getByText('The receiver answered with status 500.').waitFor();
  await again.focus();
  await page.keyboard.press('Enter');
  await page.getByText('The message is on its way again.').waitFor();
  expect(mistakes).toEqual([]);
});

it('sets up who hears of an alarm', async () => {
  await page.evaluate(() => localStorage.setItem('runtrue.person', 'engineer'));
  await page.addInitScript(() => localStorage.setItem('runtrue.person', 'engineer'));
  await page.goto(`${server.address}/setup`);
  await page.getByText('Who hears of which alarm').click();
  await page.getByRole('button', { name: 'Add a rule' }).click();
  const dialog = page.getByRole('dialog', { name: 'Add a rule' });
  await dialog.getByLabel('Short name').fill('all');
  await dialog.getByLabel('Name', { exact: true }).fill('Everything');
  await dialog.getByRole('group', { name: 'At once' }).getByLabel('first').check();
  expect(await accessibilityFindings(page)).toEqual([]);
  await dialog.getByRole('button', { name: 'Save' }).click();
  await dialog.waitFor({ state: 'detached' });
  await page.getByRole('cell', { name: 'Everything' }).waitFor();

  await page.getByText('Who is reached, and how').click();
  await page.getByText('no secret to sign with yet').waitFor();
  await page.getByRole('button', { name: /^Make a new secret/ }).click();
  await page.getByText(/shown this once: whsec_/).waitFor();
  expect(await accessibilityFindings(page)).toEqual([]);
  expect(mistakes).toEqual([]);
});

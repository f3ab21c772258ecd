/** A workbook on its way through the import page, in a real browser, also while the server is away. */
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, expect, it } from 'vitest';
import gear from '../reference/gear-expected.json' with { type: 'json' };
import { accessibilityFindings, openBrowser } from './browser.ts';
import { gearPlant, setUpPlant } from './plant.ts';
import { type RunningServer, startServer } from './server.ts';

const workbook = fileURLToPath(new URL('../api/workbooks/sheets.xlsx', import.meta.url));
let folder = '';
let server: RunningServer;
let browser: Browser;
let page: Page;
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'runtrue-workbook-'));
  server = await startServer({ program: 'main', dataFolder: folder });
  await setUpPlant(server.address, gearPlant(gear.specification));
  browser = await openBrowser();
  page = await browser.newPage({ viewport: { width: 1280, height: 900 } });
  await page.addInitScript(() => localStorage.setItem('runtrue.person', 'engineer'));
  await page.goto(`${server.address}/import`);
});
afterAll(async () => {
  await browser?.close();
  await server?.stop();
  await rm(folder, { recursive: true, force: true });
});

it('shows the sheet that holds a table, lets another be chosen, and previews its samples', async () => {
  await page.locator('input[type="file"]').setInputFiles(workbook);
  const columns = page.getByRole('region', { name: '2. Its columns' });
  const sheet = columns.getByLabel('Sheet');
  await sheet.waitFor();
  expect(await sheet.inputValue()).toBe('Samples');
  expect(await columns.locator('thead th').allInnerTexts()).toEqual(['time', 'a', 'b', 'c', 'd', 'coil']);
  // What only CSV has is not asked.
  expect(await columns.getByLabel('Between columns').count()).toBe(0);
  expect(await columns.getByLabel('Encoding').count()).toBe(0);

  await sheet.selectOption('Empty');
  await columns.getByText('The sheet "Empty" is empty; choose another.').first().waitFor();
  await sheet.selectOption('Samples');
  await columns.locator('thead th', { hasText: 'coil' }).waitFor();

  const mapping = page.getByRole('region', { name: '3. What it means' });
  await mapping.getByLabel('Stream').selectOption('diameter-1');
  await page.getByText('4 samples', { exact: true }).waitFor();
  expect(await accessibilityFindings(page)).toEqual([]);
});

it('says that the server is away, and goes on by itself once it is back', async () => {
  const { address } = server;
  await server.stop();
  const check = page.getByRole('region', { name: '4. Check and store' });
  const mapping = page.getByRole('region', { name: '3. What it means' });
  const lot = mapping.getByLabel('Column with the lot');
  await lot.selectOption((await lot.inputValue()) === '' ? { label: 'coil' } : { index: 0 });
  await check.getByText('The server does not answer').waitFor();
  await page.getByText('No connection').waitFor();
  const again = check.getByRole('button', { name: 'Try again' });
  await again.click();
  await check.getByText('The server does not answer').waitFor();
  const environment = { PORT: new URL(address).port };
  server = await startServer({ program: 'main', dataFolder: folder, environment });
  await check.getByText('4 samples', { exact: true }).waitFor();
  await again.waitFor({ state: 'detached' });
  await page.getByText('No connection').waitFor({ state: 'detached' });
});

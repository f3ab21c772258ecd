/** What a newcomer meets: starting, being refused in one sentence, an empty plant, stopping. */
import { spawn } from 'node:child_process';
import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Browser, BrowserContext } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { accessibilityFindings, openBrowser } from './browser.ts';
import { type RunningServer, startServer } from './server.ts';
import { addRecord } from './setup-page.ts';

const main = new URL('../../dist/server/main.js', import.meta.url).pathname;

const PASSWORD = 'seven quiet rollers';

/** Runs the server until it ends by itself. */
const runToEnd = (environment: Record<string, string>): Promise<{ code: number | null; printed: string }> =>
  new Promise((done) => {
    const child = spawn(process.execPath, [main], { env: { ...process.env, ...environment } });
    let printed = '';
    child.stdout.on('data', (chunk) => {
      printed += chunk;
    });
    child.stderr.on('data', (chunk) => {
      printed += chunk;
    });
    child.once('exit', (code) => done({ code, printed: printed.trim() }));
  });

describe('starting and stopping', () => {
  let folder = '';
  let server: RunningServer;
  beforeAll(async () => {
    folder = await mkdtemp(join(tmpdir(), 'runtrue-newcomer-'));
    server = await startServer({ program: 'main', dataFolder: join(folder, 'data') });
  });
  afterAll(async () => {
    await rm(folder, { recursive: true, force: true });
  });

  it('says in one sentence that the port is taken', async () => {
    const port = new URL(server.address).port;
    const { code, printed } = await runToEnd({ PORT: port, DATA_DIR: join(folder, 'other') });
    expect(code).toBe(1);
    expect(printed).toContain(`Port ${port}`);
    expect(printed.split('\n')).toHaveLength(1);
  });

  it('says in one sentence that the folder cannot be used', async () => {
    const file = join(folder, 'a-file');
    await writeFile(file, '');
    const { code, printed } = await runToEnd({ PORT: '0', DATA_DIR: join(file, 'data') });
    expect(code).toBe(1);
    expect(printed).toContain('DATA_DIR');
    expect(printed.split('\n')).toHaveLength(1);
  });

  it('says in one sentence that the port is no port', async () => {
    const { code, printed } = await runToEnd({ PORT: 'eighty', DATA_DIR: join(folder, 'other') });
    expect(code).toBe(1);
    expect(printed).toContain('PORT');
    expect(printed.split('\n')).toHaveLength(1);
  });

  it('stops cleanly on Ctrl-C, with an open event stream', async () => {
    const stream = await fetch(`${server.address}/api/stream`);
    // Were it to wait for the stream to end, this would never come.
    expect(await server.stop()).toBe(0);
    await stream.body?.cancel().catch(() => {});
  });
});

describe('an empty plant', () => {
  let folder = '';
  let server: RunningServer;
  let browser: Browser;
  let office: BrowserContext;
  beforeAll(async () => {
    folder = await mkdtemp(join(tmpdir(), 'runtrue-empty-'));
    server = await startServer({ program: 'main', dataFolder: folder, signIn: 'on' });
    browser = await openBrowser();
    office = await browser.newContext();
  });
  afterAll(async () => {
    await browser.close();
    await server.stop();
    await rm(folder, { recursive: true, force: true });
  });

  it('is set up through the page, form by form', async () => {
    const first = /http\S+#first=\S+/;
    await expect.poll(() => server.output(), { timeout: 30_000 }).toMatch(first);
    const page = await office.newPage();
    await page.goto(first.exec(server.output())![0]);
    await page.getByLabel('Short name').fill('admin');
    await page.getByLabel('Name', { exact: true }).fill('Administrator');
    await page.getByLabel('New password').fill(PASSWORD);
    await page.getByRole('button', { name: 'Begin' }).click();
    await page.getByText('This plant is empty').waitFor();
    await page.getByRole('link', { name: 'Setup' }).first().click();
    await addRecord(page, 'People', 'person', {
      'Short name': 'engineer-1',
      Name: 'Engineer',
      Role: 'engineer',
    });
    // What parts are judged by belongs to the engineer, who signs in by a one-time link.
    await page.getByRole('button', { name: 'Administrator' }).click();
    await page.getByRole('link', { name: 'People and stations' }).click();
    await page.getByRole('button', { name: 'One-time link for Engineer' }).click();
    await page.goto((await page.locator('.one-time-secret').textContent())!);
    await page.getByLabel('New password').fill(PASSWORD);
    await page.getByRole('button', { name: 'Save and sign in' }).click();
    await page.getByRole('button', { name: 'Engineer' }).waitFor();
    await page.getByRole('link', { name: 'Setup' }).first().click();
    await addRecord(page, 'Lines', 'line', {
      'Short name': 'L1',
      Name: 'Line 1',
      'Parts an hour': '120,5',
      'Runs from': '00:00',
      'Runs until': '24:00',
      'Runs on': ['Monday', 'Sunday'],
    });
    await addRecord(page, 'Stations', 'station', { 'Short name': 'S1', Line: 'L1', Name: 'Bench 1' });
    await addRecord(page, 'Part models', 'part model', { 'Short name': 'M1', Name: 'Model 1' });
    await addRecord(page, 'Characteristics', 'characteristic', {
      'Short name': 'width',
      Name: 'Width',
      'Decimals that the gauge resolves': '2',
    });
    await addRecord(page, 'Specifications', 'specification', {
      Characteristic: 'width',
      'Part model': 'M1',
      Nominal: '12,5',
      'Lower specification limit': '12',
      'Upper specification limit': '13',
    });
    await addRecord(page, 'Streams', 'stream', {
      'Short name': 'width-1',
      Characteristic: 'width',
      Station: 'S1',
      Name: 'lane 1',
    });
    await addRecord(page, 'Sampling plans', 'sampling plan', {
      Stream: 'width-1',
      'Readings in a sample': '3',
    });

    const plant = await (await office.request.get(`${server.address}/api/plant`)).json();
    expect(plant.lines[0]).toMatchObject({
      partsPerHour: 120.5,
      runningHours: { end: '24:00', weekdays: [1, 7] },
    });
    expect(plant.specifications[0]).toMatchObject({ nominal: 12.5, upperSpecificationLimit: 13 });
    expect(plant.plans[0]).toMatchObject({ streamId: 'width-1', sampleSize: 3, chart: 'mean-range' });
    expect(await accessibilityFindings(page)).toEqual([]);
    await page.close();
  });

  it('shows a refusal beside the field, in words, and keeps what was typed', async () => {
    const page = await office.newPage();
    await page.goto(`${server.address}/setup`);
    const section = page.locator('details', { has: page.getByRole('heading', { name: 'Specifications' }) });
    await section.locator('summary').click();
    await section.getByRole('button', { name: /Change/ }).click();
    const dialog = page.getByRole('dialog', { name: 'Change the specification' });
    await dialog.getByLabel('Upper specification limit', { exact: true }).fill('11');
    await dialog.getByLabel('Why this change?').fill('typing error on purpose');
    await dialog.getByRole('button', { name: 'Save' }).click();
    await dialog.getByText('must be greater than lowerSpecificationLimit').first().waitFor();
    const field = dialog.getByLabel('Upper specification limit', { exact: true });
    expect(await field.inputValue()).toBe('11');
    expect(await field.getAttribute('aria-invalid')).toBe('true');
    expect(await accessibilityFindings(page)).toEqual([]);
    await page.close();
  });
});

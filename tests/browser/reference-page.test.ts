/** The reference of the calculations, in a real browser: found, read and run by keyboard alone. */
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { accessibilityFindings, openBrowser } from './browser.ts';
import { type RunningServer, startServer } from './server.ts';

let folder: string;
let server: RunningServer;
let browser: Browser;
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'runtrue-reference-'));
  server = await startServer({ program: 'main', dataFolder: folder });
  browser = await openBrowser();
});
afterAll(async () => {
  await browser.close();
  await server.stop();
  await rm(folder, { recursive: true, force: true });
});

async function open(
  address: string,
  settings: Parameters<Browser['newPage']>[0] = {},
): Promise<{ page: Page; complaints: string[] }> {
  const page = await browser.newPage(settings);
  const complaints: string[] = [];
  page.on('console', (message) => complaints.push(message.text()));
  page.on('pageerror', (error) => complaints.push(error.message));
  await page.goto(`${server.address}${address}`);
  return { page, complaints };
}

/** Asks again until it holds: the page's script and its answers come a little after the page itself. */
const eventually = <T>(read: () => Promise<T>) => expect.poll(read, { timeout: 30_000 });

/** Leaves the first calculation of each folder, opened: all the others repeat the same parts, and the rules take long. */
const keepFew = (page: Page): Promise<void> =>
  page.evaluate(() => {
    for (const one of document.querySelectorAll<HTMLDetailsElement>('details.calculation')) {
      one.open = true;
      if (one.matches('details + details')) one.remove();
    }
  });

describe('the reference page', () => {
  it('is found from the API, searched, opened, edited and run by keyboard', async () => {
    const { page, complaints } = await open('/api/docs');
    await page.getByRole('link', { name: 'a page of their own' }).click();
    await page.getByRole('heading', { level: 1, name: 'The calculations' }).waitFor();
    const shown = page.locator('details.calculation:visible');
    const status = page.getByRole('status');
    // The whole page has arrived, and its script has run.
    await page.waitForLoadState('load');
    const all = await shown.count();
    expect(all).toBeGreaterThan(40);
    await eventually(() => status.textContent()).toBe(`${all} calculations`);

    await page.keyboard.press('/');
    await page.keyboard.type('moving ranges neighbouring zebra');
    await eventually(() => status.textContent()).toContain('No calculation');
    await page.keyboard.press('Control+a');
    await page.keyboard.type('movingranges');
    const calculation = page.locator('details#movingRanges');
    await calculation.waitFor();
    await eventually(() => shown.count()).toBeLessThan(all / 4);
    await page.keyboard.press('Enter');
    await eventually(() => calculation.getAttribute('open')).not.toBeNull();
    await eventually(() => page.evaluate(() => document.activeElement?.tagName)).toBe('SUMMARY');

    const given = calculation.getByLabel('Arguments of movingRanges, as JSON');
    await given.focus();
    await page.keyboard.press('Control+a');
    await page.keyboard.type('{"values": [1, 4, 2]}');
    await page.keyboard.press('Control+Enter');
    await calculation.getByText('[null, 3, 2]').waitFor();
    expect(await calculation.locator('output').textContent()).toContain('Result, after');

    await given.fill('{"values": [1, "4"]}');
    await calculation.getByRole('button', { name: 'Run movingRanges' }).press('Enter');
    await calculation.getByText('values.1 must be a number or null, not a text').waitFor();
    await keepFew(page);
    expect(await accessibilityFindings(page)).toEqual([]);
    // The refusal itself is the one thing that a browser writes down.
    expect(complaints.filter((text) => !text.includes('422'))).toEqual([]);
    await page.close();
  });

  it('opens the calculation that its address names', async () => {
    const { page } = await open('/reference#chartFactors');
    await page.getByRole('button', { name: 'Run chartFactors' }).waitFor();
    await eventually(() => page.locator('details.calculation[open]').count()).toBe(1);
    await page.close();
  });

  it('finds calculations by the words of the trade, and a single letter as a word', async () => {
    const { page } = await open('/reference');
    const found = async (words: string): Promise<string[]> => {
      await page.getByLabel('Find a calculation').fill(words);
      return page
        .locator('details.calculation:visible')
        .evaluateAll((calculations) => calculations.map(({ id }) => id));
    };
    await eventually(() => found('xbar')).toContain('meanAndRangeChart');
    await eventually(() => found('ppm')).toContain('capability');
    await eventually(() => found('runout')).toContain('positionPerformance');
    await eventually(() => found('skewed')).toContain('fitDistribution');
    await eventually(() => found('p chart')).toContain('pChart');
    expect(await found('p chart')).not.toContain('ewmaChart');
    await page.close();
  });

  it('shows the fields of the options, and leads from one source to the other', async () => {
    const { page } = await open('/reference#pColumns');
    await page.getByRole('link', { name: 'pChart' }).first().click();
    await page.getByRole('button', { name: 'Run pChart' }).waitFor();
    await page.goto(`${server.address}/reference#machinePerformance`);
    await page.reload();
    const fields = page.locator('#machinePerformance').getByRole('table', { name: 'Fields of options' });
    const confidence = fields.getByRole('row', { name: /^confidence / });
    await confidence.waitFor();
    expect(await confidence.locator('td').allInnerTexts()).toEqual([
      'number',
      'Of every interval and bound, 0.5 … 0.9999. Default 0.95.',
      'default 0.95',
    ]);
    const limits = page
      .locator('#machinePerformance')
      .getByRole('table', { name: 'Fields of specification' });
    expect(await limits.getByRole('row', { name: /^lowerSpecificationLimit / }).textContent()).toContain(
      'required',
    );
    await page.close();
  });

  it.each([
    ['light', 1440],
    ['dark', 1440],
    ['light', 360],
    ['dark', 360],
  ] as const)('is accessible and nowhere wider than its window (%s, %i)', async (colorScheme, width) => {
    const { page, complaints } = await open('/reference', {
      colorScheme,
      viewport: { width, height: 900 },
    });
    await page.evaluate(() => {
      for (const one of document.querySelectorAll<HTMLDetailsElement>('details.calculation')) one.open = true;
    });
    expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(width);
    await keepFew(page);
    expect(await accessibilityFindings(page)).toEqual([]);
    expect(complaints).toEqual([]);
    await page.close();
  });
});

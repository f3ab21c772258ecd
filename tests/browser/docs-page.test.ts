/** The readable description of the API, in a real browser. */
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { expect, it, onTestFinished } from 'vitest';
import { accessibilityFindings, openBrowser } from './browser.ts';
import { startServer } from './server.ts';

it('is accessible, carries its own style under the policy, and needs no script', async () => {
  const folder = await mkdtemp(join(tmpdir(), 'runtrue-docs-'));
  const server = await startServer({ program: 'main', dataFolder: folder });
  const browser = await openBrowser();
  onTestFinished(async () => {
    await browser.close();
    await server.stop();
    await rm(folder, { recursive: true, force: true });
  });
  const page = await browser.newPage();
  const complaints: string[] = [];
  page.on('console', (message) => complaints.push(message.text()));
  await page.goto(`${server.address}/api/docs`);
  expect(await page.getByRole('heading', { level: 1 }).textContent()).toBe('Runtrue: the API');
  await page.getByRole('heading', { level: 3, name: 'Enter a sample and get its verdict' }).waitFor();
  expect(await page.evaluate(() => getComputedStyle(document.body).maxWidth)).not.toBe('none');
  expect(await accessibilityFindings(page)).toEqual([]);
  await page.setViewportSize({ width: 360, height: 800 });
  expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(360);
  await page.getByRole('banner').getByRole('link', { name: 'Calculations' }).waitFor();
  expect(complaints).toEqual([]);
});

/**
 * What a first visit costs: bytes over the wire of each workplace, compressed as the server sends them, and the
 * time from opening Review to its first chart on the demo plant.
 */
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { openBrowser } from '../browser/browser.ts';
import { startServer } from '../browser/server.ts';

const VISITS = 7;
const median = (values: readonly number[]): number => [...values].sort((a, b) => a - b)[values.length >> 1]!;

export async function run(): Promise<void> {
  const dataFolder = await mkdtemp(join(tmpdir(), 'runtrue-page-bench-'));
  const server = await startServer({ program: 'demo', dataFolder });
  const browser = await openBrowser();
  try {
    for (const path of ['/', '/station', '/review', '/floor', '/import', '/setup']) {
      const context = await browser.newContext();
      const page = await context.newPage();
      const session = await context.newCDPSession(page);
      await session.send('Network.enable');
      let bytes = 0;
      const code = new Set<string>();
      session.on('Network.responseReceived', ({ requestId, response }) => {
        if (!response.url.includes('/api/')) code.add(requestId);
      });
      session.on('Network.loadingFinished', ({ requestId, encodedDataLength }) => {
        if (code.has(requestId)) bytes += encodedDataLength;
      });
      await page.goto(`${server.address}${path}`);
      await page.locator('h1').first().waitFor();
      await page.waitForTimeout(500);
      console.log(`${path.padEnd(9)} ${(bytes / 1000).toFixed(1)} kB of page over the wire (aim 150)`);
      await context.close();
    }
    const times: number[] = [];
    for (let visit = 0; visit < VISITS; visit++) {
      const context = await browser.newContext();
      const page = await context.newPage();
      await page.goto(`${server.address}/review`);
      const chart = page.locator('[data-first-chart-ms]').first();
      await chart.waitFor();
      times.push(Number(await chart.getAttribute('data-first-chart-ms')));
      await context.close();
    }
    console.log(
      `first chart on /review: median ${median(times).toFixed(0)} ms of ${VISITS} first visits ` +
        `(${Math.min(...times).toFixed(0)} to ${Math.max(...times).toFixed(0)})`,
    );
  } finally {
    await browser.close();
    await server.stop();
    await rm(dataFolder, { recursive: true, force: true });
  }
}

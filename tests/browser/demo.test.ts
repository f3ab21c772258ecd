/**
 * The demo plant in a real browser: every workplace, light and dark, wide and narrow, without a finding of axe,
 * without sideways scrolling, with its picture taken. `npm run pictures` puts the pictures into the README's folder.
 */
import { mkdir, mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { accessibilityFindings, openBrowser } from './browser.ts';
import { type RunningServer, startServer } from './server.ts';

const root = fileURLToPath(new URL('../..', import.meta.url));
const pictures = join(root, process.env.PICTURES ?? 'dist/pictures');

let folder = '';
let server: RunningServer;
let browser: Browser;

beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'runtrue-demo-'));
  await mkdir(pictures, { recursive: true });
  [server, browser] = await Promise.all([
    startServer({ program: 'demo', dataFolder: folder }),
    openBrowser(),
  ]);
}, 180_000);
afterAll(async () => {
  await browser?.close();
  await server?.stop();
  await rm(folder, { recursive: true, force: true });
});

interface Workplace {
  readonly name: string;
  readonly path: string;
  readonly person: string;
  /** Resolves when there is something to look at. */
  readonly ready: (page: Page) => Promise<unknown>;
}

/** Rim width on rim line 1: a thick coil on day 9 and 10, and a decimal mark lost on day 11. */
const review = '/review?stream=C5-R1&model=Q12';

const workplaces: readonly Workplace[] = [
  {
    name: 'start',
    path: '/',
    person: 'tech-1',
    ready: (page) => page.getByRole('heading', { level: 1 }).waitFor(),
  },
  {
    name: 'station',
    path: '/station?station=R2-RIM',
    person: 'tech-2',
    ready: (page) =>
      page
        .getByRole('button', { name: /^Measure/ })
        .first()
        .waitFor(),
  },
  {
    name: 'review',
    path: review,
    person: 'engineer',
    ready: async (page) => {
      await page.locator('[data-first-chart-ms]').waitFor();
      await page.getByRole('heading', { name: 'Is it good enough?' }).waitFor();
    },
  },
  {
    name: 'floor',
    path: '/floor',
    person: 'supervisor-2',
    ready: (page) => page.locator('[data-alarm]').first().waitFor(),
  },
  {
    name: 'import',
    path: '/import',
    person: 'engineer',
    ready: (page) => page.getByRole('heading', { level: 1 }).waitFor(),
  },
  {
    name: 'setup',
    path: '/setup',
    person: 'engineer',
    ready: (page) => page.getByRole('heading', { name: 'Sampling plans' }).waitFor(),
  },
];

describe('the demo plant', () => {
  for (const scheme of ['light', 'dark'] as const) {
    for (const [width, height] of [
      [1440, 1200],
      [360, 800],
    ] as const) {
      it(`${scheme}, ${width} px wide`, async () => {
        for (const workplace of workplaces) {
          const context = await browser.newContext({ colorScheme: scheme, viewport: { width, height } });
          await context.addInitScript((id) => localStorage.setItem('runtrue.person', id), workplace.person);
          const page = await context.newPage();
          const mistakes: string[] = [];
          page.on('pageerror', (error) => mistakes.push(error.message));
          page.on('console', (message) => message.type() === 'error' && mistakes.push(message.text()));
          await page.goto(server.address + workplace.path);
          await workplace.ready(page);
          expect(await accessibilityFindings(page), workplace.name).toEqual([]);
          const overflow = await page.evaluate(
            () => document.documentElement.scrollWidth - document.documentElement.clientWidth,
          );
          expect(overflow, `${workplace.name} scrolls sideways`).toBeLessThanOrEqual(0);
          const file = `${workplace.name}${scheme === 'dark' ? '-dark' : ''}${width < 400 ? '-phone' : ''}.png`;
          await page.screenshot({ path: join(pictures, file) });
          expect(mistakes, workplace.name).toEqual([]);
          await context.close();
        }
      }, 120_000);
    }
  }
});

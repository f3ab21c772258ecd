/**
 * The server on the demo plant, with a clock that runs faster than the wall's (RUNTRUE_SPEED) from the end of the
 * demo's history on. Tells its memory to the process that started it. Run with --expose-gc.
 */
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { start } from '../../api/start.ts';
import { DEMO_NOW } from '../../demo-data/load.ts';
import { isUnfinishedDemo, prepareDemo } from '../../demo-data/prepare.ts';

const speed = Number(process.env.RUNTRUE_SPEED);
const here = dirname(fileURLToPath(import.meta.url));

process.on('message', (message) => {
  if (message !== 'memory') return;
  // What is left after a collection is what is held.
  globalThis.gc?.();
  const { rss, heapUsed, external } = process.memoryUsage();
  process.send?.({ rss, heapUsed, external });
});

await start({
  environment: process.env,
  builtFolder: join(here.endsWith('assets') ? dirname(here) : here, '..'),
  databaseName: 'soak.sqlite',
  demo: true,
  isUnfinished: isUnfinishedDemo,
  prepare: async (parts) => {
    await prepareDemo(parts);
    const begin = Date.now();
    parts.setClock({ now: () => Math.round(DEMO_NOW + (Date.now() - begin) * speed) });
    process.send?.({ begin });
  },
});

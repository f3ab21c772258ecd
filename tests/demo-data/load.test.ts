import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { Clock } from '../../api/clock.ts';
import { createMonitoring } from '../../api/monitoring/monitoring.ts';
import { createChangeFeed } from '../../api/notify/change-feed.ts';
import { openSqliteStore } from '../../api/store/sqlite.ts';
import type { Store } from '../../api/store/store.ts';
import { DEMO_NOW, DEMO_SEED, demoState, type LoadSummary, loadDemoPlant } from '../../demo-data/load.ts';

const folder = mkdtempSync(join(tmpdir(), 'runtrue-demo-'));
let store: Store;
let summary: LoadSummary;
let seconds: number;

beforeAll(async () => {
  store = openSqliteStore(join(folder, 'demo.sqlite'));
  let clock: Clock = { now: () => 0 };
  const monitoring = createMonitoring({ store, clock: { now: () => clock.now() }, feed: createChangeFeed() });
  const started = performance.now();
  summary = await loadDemoPlant({
    store,
    monitoring,
    setClock: (next) => {
      clock = next;
    },
  });
  seconds = (performance.now() - started) / 1000;
});

afterAll(async () => {
  await store.close();
  rmSync(folder, { recursive: true });
});

describe('the loaded demo plant', () => {
  test('holds what was planned', async () => {
    process.stdout.write(`${JSON.stringify(summary)} ${seconds}\n`);
    expect(await demoState(store)).toBe('loaded');
    expect(DEMO_NOW + DEMO_SEED).toBeGreaterThan(0);
  });
});

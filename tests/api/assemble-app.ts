/** The real app in process, on a database of its own. Free of the test runner, so that commands can use it as well. */
import { randomBytes } from 'node:crypto';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { createApp } from '../../api/app.ts';
import { takeBackup } from '../../api/backup/take-backup.ts';
import type { Calculations } from '../../api/calculations/calculation-processes.ts';
import type { EndpointKey } from '../../api/contract.ts';
import { type Outside, onlyHere } from '../../api/http/outside.ts';
import { createRateLimiters, type RateLimits, usualRates } from '../../api/http/rate-limits.ts';
import { createImports } from '../../api/imports/imports.ts';
import { byKeyOr } from '../../api/keys/by-key.ts';
import { createKeys } from '../../api/keys/keys.ts';
import { createLog } from '../../api/log/create-log.ts';
import { createMetrics } from '../../api/metrics/metrics.ts';
import { createMonitoring } from '../../api/monitoring/monitoring.ts';
import { createChangeFeed } from '../../api/notify/change-feed.ts';
import { createProvider } from '../../api/oidc/provider.ts';
import type { ProviderSettings } from '../../api/oidc/settings.ts';
import { sealingBy } from '../../api/sealing.ts';
import { identifyBySession } from '../../api/sign-in/identify.ts';
import { createSignIn } from '../../api/sign-in/sign-in.ts';
import { named } from '../../api/who.ts';
import { newDatabase } from '../store/engines.ts';

/** A Wednesday, 10:05 local time of the small plant. */
export const start = Date.parse('2025-09-03T10:05:00+02:00');

export interface Loose {
  readonly params?: Record<string, string | number>;
  readonly query?: Record<string, string | number | undefined>;
  readonly body?: unknown;
}

/** A request to an endpoint of the contract. */
export function requestTo(key: EndpointKey, sent: Loose = {}, person: string | null = 'kim'): Request {
  const [method, template] = key.split(' ') as [string, string];
  const path = template.replace(/\{(\w+)\}/g, (_, name: string) =>
    encodeURIComponent(String(sent.params?.[name])),
  );
  const search = new URLSearchParams();
  for (const [name, value] of Object.entries(sent.query ?? {})) {
    if (value !== undefined) search.set(name, String(value));
  }
  const headers = new Headers(person === null ? {} : { 'Runtrue-Person': person });
  const init: RequestInit = { method, headers };
  if (sent.body !== undefined) {
    headers.set('Content-Type', 'application/json');
    init.body = JSON.stringify(sent.body);
  }
  return new Request(`http://127.0.0.1${path}${search.size > 0 ? `?${search}` : ''}`, init);
}

export function assembleApp({
  signIn: withSignIn = false,
  logLevel = 'warn',
  webFolder = null,
  outside = onlyHere,
  atProvider = null,
  rates = {},
  calculations = null,
  demo = false,
}: {
  signIn?: boolean;
  logLevel?: string;
  webFolder?: string | null;
  outside?: Outside;
  atProvider?: ProviderSettings | null;
  rates?: Partial<RateLimits>;
  calculations?: Calculations | null;
  demo?: boolean;
} = {}) {
  const folder = mkdtempSync(join(tmpdir(), 'runtrue-app-'));
  const database = newDatabase();
  const store = database.open();
  const clock = { time: start, now: () => clock.time };
  const feed = createChangeFeed();
  const metrics = createMetrics(store);
  const monitoring = metrics.counted(createMonitoring({ store, clock, feed }));
  const stopping = new AbortController();
  const logged: Record<string, unknown>[] = [];
  const log = createLog(logLevel, { write: (line: string) => logged.push(JSON.parse(line)) });
  const imports = createImports({ store, monitoring, clock, feed, log });
  const keys = createKeys({ store, clock });
  const limiters = createRateLimiters({ ...usualRates, ...rates });
  const sealing = sealingBy(randomBytes(32));
  const signIn = withSignIn ? createSignIn({ store, monitoring, clock, sealing }) : null;
  const otherwise =
    signIn === null ? named(() => store.plantModel()) : identifyBySession(signIn, store, limiters);
  const backups = {
    async take() {
      const target = mkdtempSync(join(folder, 'backup-'));
      const { address } = database;
      const databaseAddress = address === null ? undefined : `${address.address}?plant=${address.plant}`;
      const source = { databaseAddress, file: database.file };
      const { file } = await takeBackup(source, target, clock.time);
      return { file, done: () => rmSync(target, { recursive: true, force: true }) };
    },
  };
  const app = createApp({
    store,
    identify: byKeyOr({ keys, limiters, store, clock, otherwise }),
    signIn,
    sealing,
    keys,
    outside,
    provider:
      signIn === null || atProvider === null
        ? null
        : createProvider({ settings: atProvider, signIn, store, monitoring, clock, log }),
    limiters,
    doors: { mail: false, topicPrefix: null },
    metrics,
    monitoring,
    imports,
    calculations,
    backups,
    clock,
    feed,
    log,
    version: '0.0.0-test',
    demo,
    webFolder,
    stopping: stopping.signal,
  });
  const fetch = async (request: Request): Promise<Response> => app.fetch(request);
  return {
    app,
    store,
    clock,
    feed,
    monitoring,
    imports,
    log,
    signIn,
    databaseFile: database.file,
    logged,
    fetch,
    close: async (): Promise<void> => {
      stopping.abort();
      metrics.end();
      await imports.end();
      await store.close();
      database.remove();
      rmSync(folder, { recursive: true });
    },
  };
}

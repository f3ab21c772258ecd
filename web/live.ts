/** What the server tells by itself: changes as they happen, and its clock. */
import { signal } from '@preact/signals';
import type { Change } from '../api/schemas.ts';
import { call } from './client.ts';
import { doubts } from './session.ts';

/** false while the server does not answer; screens then say so. */
export const connected = signal(true);
/** Server time minus this device's time: due times follow the plant's clock, not the tablet's. */
const clockDifference = signal(0);
export const demoPlant = signal(false);

export const serverNow = (): number => Date.now() + clockDifference.value;

/** The server's time, renewed every ten seconds, for screens that show how long ago something was. */
export const tickingNow = signal(Date.now());
setInterval(() => {
  tickingNow.value = serverNow();
}, 10_000);

export async function readServerClock(): Promise<void> {
  const health = await call('GET /api/health');
  clockDifference.value = Date.parse(health.now) - Date.now();
  tickingNow.value = serverNow();
  demoPlant.value = health.demo;
}

const REFUSED_RETRY_MILLISECONDS = 5_000;

const listeners = new Set<(change: Change | null) => void>();

/** Calls back on each change, and once with null whenever the connection was lost and is back. */
export function onChange(listener: (change: Change | null) => void): () => void {
  listeners.add(listener);
  listen();
  return () => listeners.delete(listener);
}

const kinds: readonly Change['kind'][] = [
  'sample',
  'alarm',
  'limits',
  'event',
  'restart',
  'missed',
  'plant',
  'handover',
  'import',
];
let source: EventSource | null = null;

function listen(): void {
  if (source !== null) return;
  source = new EventSource('/api/stream');
  for (const kind of kinds) {
    source.addEventListener(kind, (message) => {
      const change = JSON.parse((message as MessageEvent<string>).data) as Change;
      for (const listener of listeners) listener(change);
    });
  }
  source.onerror = () => {
    connected.value = false;
    // Refused rather than cut off, and then the browser does not try again by itself: ask who is signed in.
    if (source?.readyState !== EventSource.CLOSED) return;
    source = null;
    doubts.value += 1;
    setTimeout(listen, REFUSED_RETRY_MILLISECONDS);
  };
  source.onopen = () => {
    const back = !connected.value;
    connected.value = true;
    if (back) {
      readServerClock().catch(() => {});
      for (const listener of listeners) listener(null);
    }
  };
}

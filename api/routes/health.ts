import type { AppParts } from '../app-parts.ts';
import type { Handle } from '../http/handle.ts';
import { isoTime } from '../monitoring/payloads.ts';

export function healthRoutes(handle: Handle, { store, clock, version, demo }: AppParts): void {
  handle('GET /api/health', async () => ({
    status: 'ok' as const,
    now: isoTime(clock.now()),
    version,
    demo,
    samples: await store.sampleCount(),
  }));
}

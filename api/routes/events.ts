import type { AppParts } from '../app-parts.ts';
import type { Handle } from '../http/handle.ts';
import { eventPayload } from '../monitoring/payloads.ts';
import { lineOf, periodOf } from '../plant-lookup.ts';

export function eventRoutes(handle: Handle, { store, monitoring }: AppParts): void {
  handle('POST /api/events', ({ body, by }) => monitoring.recordEvent(body, by));

  handle('GET /api/events', async ({ query: { lineId, from, to } }) => {
    lineOf(await store.plantModel(), lineId, 'lineId');
    return (await store.events(lineId, periodOf(from, to))).map(eventPayload);
  });
}

import type { AppParts } from '../app-parts.ts';
import type { Handle } from '../http/handle.ts';
import { linkToNext, USUAL_PAGE } from '../http/next-page.ts';
import { eventPayload } from '../monitoring/payloads.ts';
import { lineOf, periodOf } from '../plant-lookup.ts';
import { unacceptable } from '../problem.ts';

export function eventRoutes(handle: Handle, { store, monitoring }: AppParts): void {
  handle('POST /api/events', ({ body, by }) => monitoring.recordEvent(body, by));

  handle('GET /api/events', async ({ query, request, answerHeaders }) => {
    const { lineId, from, to, after, limit = USUAL_PAGE } = query;
    lineOf(await store.plantModel(), lineId, 'lineId');
    if (after !== undefined) {
      if (from !== undefined || to !== undefined)
        throw unacceptable('after', 'goes through all events as they arrived; leave out from and to with it');
      const rows = await store.eventsAfter(lineId, after, limit);
      answerHeaders.set('Link', linkToNext(request, rows.at(-1)?.no ?? after));
      return rows.map(eventPayload);
    }
    if (from === undefined) throw unacceptable('from', 'is missing; give a date and time, or after');
    if (to === undefined) throw unacceptable('to', 'is missing; give a date and time, or after');
    return (await store.events(lineId, periodOf(from, to))).map(eventPayload);
  });
}

import type { AppParts } from '../app-parts.ts';
import type { Handle } from '../http/handle.ts';
import { linkToNext, USUAL_PAGE } from '../http/next-page.ts';
import { streamOf } from '../plant-lookup.ts';
import { unacceptable } from '../problem.ts';

export function alarmRoutes(handle: Handle, { store, monitoring }: AppParts): void {
  handle('GET /api/alarms', async ({ query, request, answerHeaders }) => {
    const { open, streamId, after, limit = USUAL_PAGE } = query;
    if (streamId !== undefined) streamOf(await store.plantModel(), streamId, 'streamId');
    else if (after !== undefined)
      throw unacceptable('streamId', 'is missing; alarms in order of arrival are those of one stream');
    const alarms = await monitoring.alarms({
      limit,
      ...(open === undefined ? {} : { open: open === 'true' }),
      ...(streamId === undefined ? {} : { streamId }),
      ...(after === undefined ? {} : { afterId: after }),
    });
    if (after !== undefined) answerHeaders.set('Link', linkToNext(request, alarms.at(-1)?.id ?? after));
    return alarms;
  });

  handle('GET /api/alarms/{id}', ({ params }) => monitoring.alarm(params.id));

  handle('POST /api/alarms/{id}/entries', ({ params, body, by }) =>
    monitoring.addAlarmEntry(params.id, body, by),
  );

  handle('POST /api/alarms/{id}/shelving', ({ params, body, by }) => monitoring.shelve(params.id, body, by));

  handle('POST /api/alarms/{id}/unshelving', ({ params, body, by }) =>
    monitoring.unshelve(params.id, body, by),
  );
}

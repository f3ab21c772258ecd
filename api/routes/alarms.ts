import type { AppParts } from '../app-parts.ts';
import type { Handle } from '../http/handle.ts';
import { streamOf } from '../plant-lookup.ts';

/** Alarms in one answer where the caller asks for no other number. */
const USUAL_ALARMS = 100;

export function alarmRoutes(handle: Handle, { store, monitoring }: AppParts): void {
  handle('GET /api/alarms', async ({ query: { open, streamId, limit = USUAL_ALARMS } }) => {
    if (streamId !== undefined) streamOf(await store.plantModel(), streamId, 'streamId');
    return monitoring.alarms({
      limit,
      ...(open === undefined ? {} : { open: open === 'true' }),
      ...(streamId === undefined ? {} : { streamId }),
    });
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

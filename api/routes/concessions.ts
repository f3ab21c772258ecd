import type { AppParts } from '../app-parts.ts';
import { addConcessionEntry } from '../concessions/add-concession-entry.ts';
import { concessionDetail, concessionsOf } from '../concessions/concession-payload.ts';
import { grantConcession } from '../concessions/grant-concession.ts';
import type { Handle } from '../http/handle.ts';
import { linkToNext, USUAL_PAGE } from '../http/next-page.ts';
import { alarmChange } from '../monitoring/settle-alarm.ts';
import { NO_STREAM } from '../store/store.ts';

export function concessionRoutes(handle: Handle, { store, clock, feed }: AppParts): void {
  /** Whoever looks at the alarm sees it. */
  const tell = async (alarmId: number, isNew: boolean): Promise<void> => {
    const alarm = isNew ? await store.alarm(alarmId) : null;
    if (alarm !== null) feed.publish(alarmChange(alarm));
    await feed.sent();
  };

  handle('GET /api/concessions', async ({ query, request, answerHeaders }) => {
    const { alarmId, after, limit = USUAL_PAGE } = query;
    const found = await concessionsOf(
      store,
      {
        limit,
        ...(alarmId === undefined ? {} : { alarmId }),
        ...(after === undefined ? {} : { after }),
      },
      clock.now(),
    );
    if (after !== undefined) answerHeaders.set('Link', linkToNext(request, found.at(-1)?.no ?? after));
    return found;
  });

  handle('GET /api/concessions/{id}', ({ params }) => concessionDetail(store, params.id, clock.now()));

  handle('POST /api/concessions', async ({ body, by }) => {
    const { no, isNew } = await store.transaction(
      (transaction) => grantConcession(transaction, body, by.personId, clock.now()),
      [NO_STREAM],
    );
    await tell(body.alarmId, isNew);
    return concessionDetail(store, no, clock.now());
  });

  handle('POST /api/concessions/{id}/entries', async ({ params, body, by }) => {
    const { row, isNew } = await store.transaction(
      (transaction) => addConcessionEntry(transaction, params.id, body, by.personId, clock.now()),
      [NO_STREAM],
    );
    await tell(row.alarmId, isNew);
    return concessionDetail(store, row.no, clock.now());
  });
}

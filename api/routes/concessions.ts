import type { AppParts } from '../app-parts.ts';
import { addConcessionEntry } from '../concessions/add-concession-entry.ts';
import { concessionDetail, concessionsOf } from '../concessions/concession-payload.ts';
import { concessionNo } from '../concessions/concession-records.ts';
import { grantConcession } from '../concessions/grant-concession.ts';
import type { Handle } from '../http/handle.ts';
import { linkToNext, USUAL_PAGE } from '../http/next-page.ts';
import { alarmChange } from '../monitoring/settle-alarm.ts';
import { NO_STREAM, type StoreTransaction } from '../store/store.ts';

export function concessionRoutes(handle: Handle, { store, clock, feed }: AppParts): void {
  /** Whoever looks at the alarm sees it. */
  const tell = async (alarmId: number, isNew: boolean): Promise<void> => {
    const alarm = isNew ? await store.alarm(alarmId) : null;
    if (alarm !== null) feed.publish(alarmChange(alarm));
    await feed.sent();
  };

  /** Nobody counts the parts of the alarm anew while it is written. */
  const record = async <T>(
    alarmId: number | undefined,
    work: (transaction: StoreTransaction) => Promise<T>,
  ): Promise<T> => {
    const alarm = alarmId === undefined ? null : await store.alarm(alarmId);
    return store.transaction(work, alarm === null ? [NO_STREAM] : [NO_STREAM, alarm.streamId]);
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
    const { no, isNew } = await record(body.alarmId, (transaction) =>
      grantConcession(transaction, body, by.personId, clock.now()),
    );
    await tell(body.alarmId, isNew);
    return concessionDetail(store, no, clock.now());
  });

  handle('POST /api/concessions/{id}/entries', async ({ params, body, by }) => {
    const concession = await concessionNo(store.sql, params.id);
    const { row, isNew } = await record(concession?.alarmId, (transaction) =>
      addConcessionEntry(transaction, params.id, body, by.personId, clock.now()),
    );
    await tell(row.alarmId, isNew);
    return concessionDetail(store, row.no, clock.now());
  });
}

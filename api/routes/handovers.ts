import type { AppParts } from '../app-parts.ts';
import { takeHandover, withdrawHandover } from '../handovers/end-handover.ts';
import { giveHandover } from '../handovers/give-handover.ts';
import { handoverDetail, handoverSummary } from '../handovers/handover-payload.ts';
import { handovers } from '../handovers/handover-records.ts';
import { openWork } from '../handovers/open-work.ts';
import type { Handle } from '../http/handle.ts';
import { linkToNext, USUAL_PAGE } from '../http/next-page.ts';
import { NO_STREAM, type StoreTransaction } from '../store/store.ts';

/** What is open is put together before the transaction, so that no sample waits for it. */
export function handoverRoutes(handle: Handle, { store, clock, feed }: AppParts): void {
  const record = <T>(work: (transaction: StoreTransaction) => Promise<T>): Promise<T> =>
    store.transaction(work, [NO_STREAM]);
  const tell = async (isNew: boolean): Promise<void> => {
    if (isNew) feed.publish({ kind: 'handover' });
    await feed.sent();
  };

  handle('GET /api/open-work', () => openWork(store, clock.now()));

  handle('GET /api/handovers', async ({ query, request, answerHeaders }) => {
    const { state, after, limit = USUAL_PAGE } = query;
    const rows = await handovers(store.sql, {
      limit,
      ...(state === undefined ? {} : { state }),
      ...(after === undefined ? {} : { after }),
    });
    if (after !== undefined) answerHeaders.set('Link', linkToNext(request, rows.at(-1)?.no ?? after));
    return rows.map(handoverSummary);
  });

  handle('GET /api/handovers/{id}', ({ params }) => handoverDetail(store, params.id, clock.now()));

  handle('POST /api/handovers', async ({ body, by }) => {
    const open = await openWork(store, clock.now());
    const { no, isNew } = await record((to) => giveHandover(to, open, body, by, clock.now()));
    await tell(isNew);
    return handoverDetail(store, no, clock.now());
  });

  handle('POST /api/handovers/{id}/taking', async ({ params, body, by }) => {
    const open = await openWork(store, clock.now());
    await tell(await record((to) => takeHandover(to, params.id, open, body, by, clock.now())));
    return handoverDetail(store, params.id, clock.now());
  });

  handle('POST /api/handovers/{id}/withdrawal', async ({ params, body, by }) => {
    await tell(await record((to) => withdrawHandover(to, params.id, body, by, clock.now())));
    return handoverDetail(store, params.id, clock.now());
  });
}

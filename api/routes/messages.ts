import type { AppParts } from '../app-parts.ts';
import type { Handle } from '../http/handle.ts';
import { once } from '../idempotency/idempotency.ts';
import { isoTime, isoTimeOrNull } from '../monitoring/payloads.ts';
import {
  markAccepted,
  type RefusedRow,
  refusedMeasurement,
  refusedMeasurements,
} from '../mqtt/refused-measurements.ts';
import { acceptMeasurement } from '../mqtt/take-in.ts';
import {
  type DeliveryRow,
  deliveriesOf,
  deliveryById,
  deliveryCounts,
  sendAgain,
} from '../notify/deliveries.ts';
import { conflict, unknown } from '../problem.ts';
import type { Delivery, RefusedMeasurement } from '../schemas.ts';
import { NO_STREAM } from '../store/store.ts';

const USUAL = 100;

export const deliveryPayload = (row: DeliveryRow): Delivery => ({
  id: row.id,
  door: row.door,
  recipientId: row.recipientId,
  topic: row.topic,
  subject: row.subject,
  state: row.state,
  attempts: row.attempts,
  createdAt: isoTime(row.createdAt),
  dueAt: row.state === 'waiting' ? isoTime(row.dueAt) : null,
  finishedAt: isoTimeOrNull(row.finishedAt),
  problem: row.problem,
});

const refusedPayload = (row: RefusedRow): RefusedMeasurement => ({
  id: row.no,
  at: isoTime(row.at),
  topic: row.topic,
  personId: row.personId,
  payload: row.payload,
  problem: JSON.parse(row.problem),
  acceptedAt: isoTimeOrNull(row.acceptedAt),
});

export function messageRoutes(handle: Handle, { store, monitoring, clock }: AppParts): void {
  handle('GET /api/deliveries', async ({ query: { state, limit = USUAL } }) => ({
    counts: await deliveryCounts(store.sql),
    deliveries: (await deliveriesOf(store.sql, state, limit)).map(deliveryPayload),
  }));

  handle('POST /api/deliveries/{id}/again', async ({ params: { id }, by }) => {
    const now = clock.now();
    return store.transaction(
      (transaction) =>
        once(transaction.sql, by.key, async () => {
          const again = await sendAgain(transaction.sql, id, now);
          if (again === null) {
            const stored = await deliveryById(transaction.sql, id);
            if (stored === null) throw unknown('message', id, 'id');
            throw conflict('id', `The message is ${stored.state}; only one that was given up is sent again.`);
          }
          const { personId } = by;
          const what = 'sent a message again';
          await transaction.addNote({ at: now, personId, what, about: id, detail: {} });
          return deliveryPayload(again);
        }),
      [NO_STREAM],
    );
  });

  handle('GET /api/refused-measurements', async ({ query: { all, limit = USUAL } }) =>
    (await refusedMeasurements(store.sql, limit, all === 'true')).map(refusedPayload),
  );

  handle('POST /api/refused-measurements/{id}/again', async ({ params: { id }, by }) => {
    const row = await refusedMeasurement(store.sql, id);
    if (row === null) throw unknown('refused measurement', id, 'id');
    // Under the name of the person that the topic names: they measured, whoever mended what was missing.
    await acceptMeasurement({ store, monitoring }, row.personId ?? '', Buffer.from(row.payload), by.key);
    // A server that dies before this leaves a sample that is stored once, by its own id, and a list to be mended by
    // the same request; the time that is noted first stays.
    await store.transaction(({ sql }) => markAccepted(sql, id, clock.now()), []);
    return refusedPayload((await refusedMeasurement(store.sql, id))!);
  });
}

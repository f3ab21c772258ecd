import type { AppParts } from '../app-parts.ts';
import type { Handle } from '../http/handle.ts';
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
    const row = await store.transaction(
      async (transaction) => {
        const again = await sendAgain(transaction.sql, id, now);
        const note = { at: now, personId: by.personId, what: 'sent a message again', about: id, detail: {} };
        if (again !== null) await transaction.addNote(note);
        return again;
      },
      [NO_STREAM],
    );
    if (row !== null) return deliveryPayload(row);
    const stored = await deliveryById(store.sql, id);
    if (stored === null) throw unknown('message', id, 'id');
    throw conflict('id', `The message is ${stored.state}; only one that was given up is sent again.`);
  });

  handle('GET /api/refused-measurements', async ({ query: { all, limit = USUAL } }) =>
    (await refusedMeasurements(store.sql, limit, all === 'true')).map(refusedPayload),
  );

  handle('POST /api/refused-measurements/{id}/again', async ({ params: { id } }) => {
    const row = await refusedMeasurement(store.sql, id);
    if (row === null) throw unknown('refused measurement', id, 'id');
    // Under the name of the person that the topic names: they measured, whoever mended what was missing.
    await acceptMeasurement({ store, monitoring }, row.personId ?? '', Buffer.from(row.payload));
    await store.transaction(({ sql }) => markAccepted(sql, id, clock.now()), []);
    return refusedPayload((await refusedMeasurement(store.sql, id))!);
  });
}

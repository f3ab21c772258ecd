import type { AppParts } from '../app-parts.ts';
import type { Handle } from '../http/handle.ts';
import { once } from '../idempotency/idempotency.ts';
import type { By } from '../monitoring/by.ts';
import { addDelivery, deliveryById } from '../notify/deliveries.ts';
import { isSecret } from '../notify/webhook.ts';
import { changeSecret, signedRecipientIds } from '../notify/webhook-secrets.ts';
import { unacceptable, unknown } from '../problem.ts';
import { type RoutingRecord, routingRecords, saveRoutingRecord } from '../routing/routing-records.ts';
import { unheard } from '../routing/unheard.ts';
import type { Delivery, Recipient } from '../schemas.ts';
import { NO_STREAM, type StoreReads, type StoreTransaction } from '../store/store.ts';
import { deliveryPayload } from './messages.ts';

export function routingRoutes(handle: Handle, { store, sealing, clock, doors }: AppParts): void {
  const save = async (
    routingRecord: RoutingRecord,
    reason: string | undefined,
    by: By,
  ): Promise<{ ok: true }> => {
    const now = clock.now();
    await store.transaction(
      (transaction) =>
        once(transaction.sql, by.key, () =>
          saveRoutingRecord(transaction, routingRecord, reason ?? '', by.personId, now),
        ),
      [NO_STREAM],
    );
    return { ok: true };
  };
  const sameId = (inPath: string, inRecord: string): void => {
    if (inPath === inRecord) return;
    throw unacceptable('record.id', `must be "${inPath}", as in the address; it is "${inRecord}"`);
  };
  const recipientOf = async ({ sql }: StoreReads, recipientId: string): Promise<Recipient> => {
    const { recipients } = await routingRecords(sql);
    const recipient = recipients.find(({ id }) => id === recipientId);
    if (recipient === undefined) throw unknown('recipient', recipientId, 'id');
    return recipient;
  };

  handle('GET /api/routing', async () => {
    const routing = await routingRecords(store.sql);
    const { safetyCharacteristicIds, shifts, recipients, rules } = routing;
    return {
      safetyCharacteristicIds: [...safetyCharacteristicIds],
      shifts: [...shifts],
      recipients: [...recipients],
      rules: [...rules],
      signedRecipientIds: await signedRecipientIds(store.sql),
      doors: { mail: doors.mail, mqtt: doors.topicPrefix !== null },
      unheard: unheard(await store.plantModel(), routing),
    };
  });

  handle('PUT /api/routing/safety', ({ body: { record, reason }, by }) =>
    save({ kind: 'safety', record }, reason, by),
  );

  handle('PUT /api/routing/shifts/{id}', ({ params, body: { record, reason }, by }) => {
    sameId(params.id, record.id);
    return save({ kind: 'shifts', record }, reason, by);
  });

  handle('PUT /api/routing/recipients/{id}', ({ params, body: { record, reason }, by }) => {
    sameId(params.id, record.id);
    return save({ kind: 'recipients', record }, reason, by);
  });

  handle('PUT /api/routing/rules/{id}', ({ params, body: { record, reason }, by }) => {
    sameId(params.id, record.id);
    return save({ kind: 'rules', record }, reason, by);
  });

  handle('POST /api/routing/recipients/{id}/secret', ({ params: { id }, body, by }) =>
    store.transaction(
      async (transaction) => {
        const { to } = await recipientOf(transaction, id);
        if (to.by !== 'webhook') throw unacceptable('id', 'must name a recipient that is reached by webhook');
        if (body.secret !== undefined && !isSecret(body.secret)) {
          throw unacceptable(
            'secret',
            'must be whsec_ and 24 to 64 bytes in base64; leave it out for a new one',
          );
        }
        const now = clock.now();
        const secret = await changeSecret(transaction.sql, sealing, id, body.secret, now);
        const what = 'set a new webhook secret';
        await transaction.addNote({
          at: now,
          personId: by.personId,
          what,
          about: `recipients/${id}`,
          detail: {},
        });
        return { secret };
      },
      [NO_STREAM],
    ),
  );

  handle('POST /api/routing/recipients/{id}/test', async ({ params: { id }, by }) => {
    const test = async (transaction: StoreTransaction): Promise<Delivery> => {
      const { to, name } = await recipientOf(transaction, id);
      const plant = await transaction.plantModel();
      const sender = plant.people.find((person) => person.id === by.personId)?.name ?? by.personId;
      const now = clock.now();
      const text = `${sender} tries whether messages of Runtrue reach ${name}. No alarm is meant.`;
      const event = { type: 'test', timestamp: new Date(now).toISOString(), data: { text } };
      const deliveryId = await addDelivery(
        transaction.sql,
        {
          door: to.by === 'topic' ? 'mqtt' : to.by,
          recipientId: id,
          topic: to.by === 'topic' ? `${doors.topicPrefix ?? 'runtrue'}/messages/${to.topic}` : null,
          subject: 'Runtrue: a test',
          body: to.by === 'mail' ? `${text}\n` : JSON.stringify(event),
        },
        now,
      );
      return deliveryPayload((await deliveryById(transaction.sql, deliveryId))!);
    };
    return store.transaction((transaction) => once(transaction.sql, by.key, () => test(transaction)), []);
  });
}

/** Where a message to a recipient goes is asked when it is sent: a mended address also serves what waits already. */
import type { Clock } from '../clock.ts';
import { routingRecords } from '../routing/routing-records.ts';
import type { Recipient } from '../schemas.ts';
import type { Sealing } from '../sealing.ts';
import type { Store } from '../store/store.ts';
import type { AddressRule } from './address-rule.ts';
import type { DeliveryRow } from './deliveries.ts';
import { mailDoor } from './mail.ts';
import { NotDelivered, type Send } from './send-deliveries.ts';
import { postWebhook, signedHeaders } from './webhook.ts';
import { secretsOf } from './webhook-secrets.ts';

async function toOf<By extends Recipient['to']['by']>(
  store: Store,
  { recipientId }: DeliveryRow,
  by: By,
): Promise<Extract<Recipient['to'], { by: By }>> {
  const { recipients } = await routingRecords(store.sql);
  const to = recipients.find(({ id }) => id === recipientId)?.to;
  if (to?.by === by) return to as Extract<Recipient['to'], { by: By }>;
  throw new NotDelivered(`The recipient ${recipientId} is not reached by ${by} any more.`, true);
}

export function webhookSend(store: Store, sealing: Sealing, clock: Clock, rule: AddressRule): Send {
  return async (delivery, signal) => {
    const { url } = await toOf(store, delivery, 'webhook');
    const now = clock.now();
    const secrets = await secretsOf(store.sql, sealing, delivery.recipientId!, now);
    if (secrets.length === 0) {
      throw new NotDelivered('The recipient has no secret to sign with yet; make one, then send again.');
    }
    const headers = signedHeaders(delivery.id, now, delivery.body, secrets);
    await postWebhook(url, headers, delivery.body, rule, signal);
  };
}

export function mailSend(store: Store, server: { readonly url: string; readonly from: string }): Send {
  return mailDoor(server, async (delivery) => ({
    to: (await toOf(store, delivery, 'mail')).address,
    text: delivery.body,
  }));
}

import type { Logger } from 'pino';
import type { Clock } from '../clock.ts';
import type { Store } from '../store/store.ts';
import {
  claimDue,
  type DeliveryDoor,
  type DeliveryRow,
  hasDue,
  markFailed,
  markSent,
  release,
} from './deliveries.ts';
import { retryDelay } from './retry-delay.ts';

/** It was not delivered. `final`: trying again would change nothing. */
export class NotDelivered extends Error {
  override readonly name = 'NotDelivered';
  readonly final: boolean;
  constructor(message: string, final = false) {
    super(message);
    this.final = final;
  }
}

/** Resolves when the other side has taken the message. */
export type Send = (delivery: DeliveryRow, signal: AbortSignal) => Promise<void>;
/** A door that is not set up has no way to send. */
export type Doors = { readonly [D in DeliveryDoor]?: Send };

/** One attempt may last this long. */
const ATTEMPT_MILLISECONDS = 15_000;
/** Another node takes a row over after this: it must be longer than an attempt. */
const CLAIM_MILLISECONDS = 30_000;
const AT_ONCE = 10;

const notSetUp: Record<DeliveryDoor, string> = {
  mail: 'No mail server is set up: start Runtrue with SMTP_URL and MAIL_FROM.',
  webhook: 'Webhooks are not set up.',
  mqtt: 'No broker is set up: start Runtrue with MQTT_URL.',
};

interface SenderParts {
  readonly store: Store;
  readonly clock: Clock;
  readonly doors: Doors;
  readonly log: Logger;
  readonly random?: () => number;
}

/** Sends everything that is due at one door, and says how many rows it tried. Doors do not wait for each other. */
export function createSender({ store, clock, doors, log, random = Math.random }: SenderParts) {
  async function attempt(delivery: DeliveryRow, stopping: AbortSignal): Promise<void> {
    const timeout = AbortSignal.timeout(ATTEMPT_MILLISECONDS);
    try {
      const send = doors[delivery.door];
      if (send === undefined) throw new NotDelivered(notSetUp[delivery.door]);
      await send(delivery, AbortSignal.any([timeout, stopping]));
    } catch (error) {
      // Stopped in the middle: whether it arrived is not known, so it goes again after the next start.
      if (stopping.aborted) return store.transaction(({ sql }) => release(sql, delivery.no), []);
      const { no, id, door, attempts, giveUpAt } = delivery;
      const isKnown = error instanceof NotDelivered;
      const now = clock.now();
      const again = now + retryDelay(attempts + 1, random());
      const gaveUp = (isKnown && error.final) || again > giveUpAt;
      const problem = timeout.aborted ? 'No answer in time.' : (error as Error).message;
      await store.transaction(({ sql }) => markFailed(sql, no, problem, gaveUp ? null : again, now), []);
      log[gaveUp ? 'error' : 'warn'](
        { delivery: id, door, attempts: attempts + 1, problem },
        'not delivered',
      );
      return;
    }
    await store.transaction(({ sql }) => markSent(sql, delivery.no, clock.now()), []);
  }

  return async function sendDue(door: DeliveryDoor, stopping: AbortSignal): Promise<number> {
    let tried = 0;
    while (!stopping.aborted && (await hasDue(store.sql, door, clock.now()))) {
      const now = clock.now();
      const claimed = await store.transaction(
        ({ sql }) => claimDue(sql, door, now, now + CLAIM_MILLISECONDS, AT_ONCE),
        [],
      );
      if (claimed.length === 0) break;
      tried += claimed.length;
      await Promise.all(claimed.map((delivery) => attempt(delivery, stopping)));
    }
    return tried;
  };
}

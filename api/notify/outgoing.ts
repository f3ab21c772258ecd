/** What runs beside the requests: sends what is due, escalates what nobody acknowledged, brings back what was shelved. */
import { setTimeout as wait } from 'node:timers/promises';
import type { Logger } from 'pino';
import type { Clock } from '../clock.ts';
import { forgetResults } from '../idempotency/idempotency.ts';
import type { Monitoring } from '../monitoring/monitoring.ts';
import type { Store } from '../store/store.ts';
import type { ChangeFeed } from './change-feed.ts';
import { type DeliveryDoor, forgetSent, releaseAll } from './deliveries.ts';
import type { createSender } from './send-deliveries.ts';

/** Another node may have written something, or a time may have come. */
const LOOK_MILLISECONDS = 1_000;
/** Delivered messages are no records; the alarms that they tell of are. */
const KEEP_SENT_MILLISECONDS = 30 * 24 * 3_600_000;
const FORGET_MILLISECONDS = 3_600_000;

interface OutgoingParts {
  readonly store: Store;
  readonly monitoring: Monitoring;
  readonly clock: Clock;
  readonly feed: ChangeFeed;
  readonly sendDue: ReturnType<typeof createSender>;
  readonly log: Logger;
  /** No other node sends from the same database. */
  readonly alone: boolean;
}

export interface Outgoing {
  /** There may be something to send. */
  wake(): void;
  /** Resolves when nothing is under way any more. */
  end(): Promise<void>;
}

export function startOutgoing(parts: OutgoingParts): Outgoing {
  const { store, monitoring, clock, feed, sendDue, log, alone } = parts;
  const stopping = new AbortController();
  let woken = new AbortController();
  const wake = (): void => {
    woken.abort();
    woken = new AbortController();
  };

  async function repeat(what: string, milliseconds: number, work: () => Promise<unknown>): Promise<void> {
    while (!stopping.signal.aborted) {
      const { signal } = woken;
      try {
        await work();
      } catch (error) {
        if (!stopping.signal.aborted) log.error({ err: error }, `${what} failed; tried again soon`);
      }
      // Something that came while working aborts this signal, so that the wait ends at once.
      await wait(milliseconds, undefined, { signal: AbortSignal.any([signal, stopping.signal]) }).catch(
        () => {},
      );
    }
  }

  const unsubscribe = feed.subscribe((change) => {
    if (change.kind === 'alarm') wake();
  });
  const doors: readonly DeliveryDoor[] = ['mail', 'webhook', 'mqtt'];
  const forget = () =>
    store.transaction(async ({ sql }) => {
      await forgetSent(sql, clock.now() - KEEP_SENT_MILLISECONDS);
      await forgetResults(sql, clock.now());
    }, []);
  let forgotAt = Number.NEGATIVE_INFINITY;
  const begun = alone ? store.transaction(({ sql }) => releaseAll(sql), []).catch(() => {}) : null;
  const work = [
    ...doors.map((door) =>
      repeat(`Sending by ${door}`, LOOK_MILLISECONDS, async () => {
        await begun;
        await sendDue(door, stopping.signal);
      }),
    ),
    repeat('Escalating', LOOK_MILLISECONDS, async () => {
      await monitoring.catchUp();
      if (performance.now() - forgotAt < FORGET_MILLISECONDS) return;
      forgotAt = performance.now();
      await forget();
    }),
  ];

  return {
    wake,
    async end() {
      unsubscribe();
      stopping.abort();
      await Promise.all(work);
    },
  };
}

import { randomUUID } from 'node:crypto';
import type { Client } from 'pg';
import type { Logger } from 'pino';
import type { Change } from '../schemas.ts';
import { connect, type PostgresAddress } from '../store/postgres-connection.ts';
import { type ChangeFeed, Listeners } from './change-feed.ts';

/** PostgreSQL takes less than 8000 bytes at once. */
const MOST_BYTES = 7_000;
/** What waits for a connection; beyond it the others are told to fetch anew. */
const MOST_WAITING = 10_000;
const PULSE_MILLISECONDS = 15_000;
const FIRST_WAIT = 100;
const LONGEST_WAIT = 5_000;

interface Message {
  /** Which node says it: nobody needs to hear himself. */
  readonly node: string;
  readonly changes: readonly Change[];
  /** There was more, and it is lost. */
  readonly missed?: true;
}

export interface NodeFeed extends ChangeFeed {
  end(): Promise<void>;
}

/**
 * The change feed of several nodes on one PostgreSQL database, over LISTEN and NOTIFY, on a connection of its own.
 *
 * A change is sent straight after its commit and not in the transaction: PostgreSQL lets transactions that notify
 * commit only one after the other, which made 16 writers three times slower. The answer to whoever made the change
 * waits for it, so a node that dies in between has not acknowledged the change, and its sender sends it again.
 */
export function createNodeFeed({
  to,
  log,
}: {
  readonly to: PostgresAddress;
  readonly log: Logger;
}): NodeFeed {
  const node = randomUUID();
  const channel = `runtrue_${to.plant}`;
  const listeners = new Listeners();
  let waiting: Change[] = [];
  let overflowed = false;
  let sending: Promise<void> | null = null;
  let client: Client | null = null;
  let ended = false;
  let retry: NodeJS.Timeout | null = null;
  let longest = FIRST_WAIT;

  function hear(payload: string | undefined): void {
    const message = JSON.parse(payload ?? '{}') as Message;
    if (message.node === node) return;
    for (const change of message.changes) listeners.tell(change);
    if (message.missed) listeners.tellMissed();
  }

  /** As many changes as one message takes. */
  function nextMessage(): Message {
    let bytes = 100;
    let count = 0;
    for (const change of waiting) {
      bytes += Buffer.byteLength(JSON.stringify(change)) + 1;
      if (bytes > MOST_BYTES && count > 0) break;
      count += 1;
    }
    return { node, changes: waiting.slice(0, count), ...(overflowed && { missed: true }) };
  }

  async function send(): Promise<void> {
    while (client !== null && (waiting.length > 0 || overflowed)) {
      const message = nextMessage();
      const over = client;
      try {
        await over.query({
          name: 'notify',
          text: 'select pg_notify($1, $2)',
          values: [channel, JSON.stringify(message)],
        });
        waiting.splice(0, message.changes.length);
        if (message.missed) overflowed = false;
      } catch (error) {
        lost(over, error);
      }
    }
  }

  const startSending = (): void => {
    if (sending !== null || client === null || (waiting.length === 0 && !overflowed)) return;
    sending = send().finally(() => {
      sending = null;
      startSending();
    });
  };

  function lost(from: Client, error: unknown): void {
    if (client !== from) return;
    client = null;
    from.end().catch(() => {});
    if (ended) return;
    log.warn({ err: error }, 'the connection that tells of changes is lost');
    again();
  }

  function again(): void {
    retry = setTimeout(() => void begin(), longest);
    longest = Math.min(2 * longest, LONGEST_WAIT);
  }

  async function begin(): Promise<void> {
    let opened: Client;
    try {
      opened = await connect(to, { query_timeout: 5_000 });
    } catch {
      if (!ended) again();
      return;
    }
    opened.on('notification', ({ payload }) => hear(payload));
    opened.on('error', (error) => lost(opened, error));
    opened.on('end', () => lost(opened, new Error('closed')));
    try {
      // Nothing is stored by it.
      await opened.query('set synchronous_commit = off');
      await opened.query(`listen ${channel}`);
    } catch {
      await opened.end().catch(() => {});
      if (!ended) again();
      return;
    }
    if (ended) return void opened.end().catch(() => {});
    client = opened;
    longest = FIRST_WAIT;
    // What the others said in between was not heard.
    listeners.tellMissed();
    startSending();
  }

  // A connection that is only half there says nothing; asking it shows.
  const pulse = setInterval(() => {
    const asked = client;
    asked?.query('select 1').catch((error: unknown) => lost(asked, error));
  }, PULSE_MILLISECONDS);
  pulse.unref();
  const begun = begin();

  return {
    publish(change) {
      listeners.tell(change);
      if (waiting.length < MOST_WAITING) waiting.push(change);
      else {
        waiting = [];
        overflowed = true;
      }
      startSending();
    },
    hasOthers: true,
    // Without a connection nobody waits: it is sent when there is one.
    sent: async () => {
      if (client !== null) await sending;
    },
    subscribe: (listener, missed) => listeners.add(listener, missed),
    async end() {
      ended = true;
      clearInterval(pulse);
      if (retry !== null) clearTimeout(retry);
      await begun;
      const last = client;
      client = null;
      await last?.end().catch(() => {});
    },
  };
}

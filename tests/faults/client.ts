/** A client as a station is one: it sends until it is answered, and never takes silence for an answer. */
import { setTimeout as wait } from 'node:timers/promises';

export interface Answered {
  readonly status: number;
  readonly body: unknown;
}

type Method = 'GET' | 'POST' | 'PUT';

export interface Client {
  /** null: no answer came, or 503; whether it was stored is unknown. `key`: what the sender calls a write. */
  attempt(
    method: Method,
    path: string,
    person: string,
    body?: unknown,
    key?: string | null,
  ): Promise<Answered | null>;
  /** Attempts until it is answered. */
  send(method: Method, path: string, person: string, body?: unknown, key?: string | null): Promise<Answered>;
  /** Attempts without an answer. */
  readonly unanswered: () => number;
}

/** `address` is null while no server runs. */
export function retryingClient(address: () => string | null): Client {
  let unanswered = 0;
  const client: Client = {
    unanswered: () => unanswered,
    async attempt(method, path, person, body, key = null) {
      const base = address();
      if (base === null) return null;
      try {
        const response = await fetch(`${base}${path}`, {
          method,
          headers: {
            'Content-Type': 'application/json',
            'Runtrue-Person': person,
            ...(key !== null && { 'Idempotency-Key': key }),
          },
          body: body === undefined ? null : JSON.stringify(body),
          signal: AbortSignal.timeout(30_000),
        });
        const text = await response.text();
        if (response.status !== 503) return { status: response.status, body: JSON.parse(text) };
      } catch (error) {
        // What fetch throws when a connection is refused or cut.
        const cut = error instanceof TypeError || (error as Error).name === 'TimeoutError';
        if (!cut) throw error;
      }
      unanswered += 1;
      return null;
    },
    async send(method, path, person, body, key) {
      for (;;) {
        const answered = await client.attempt(method, path, person, body, key);
        if (answered !== null) return answered;
        await wait(10);
      }
    },
  };
  return client;
}

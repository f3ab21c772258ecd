import type { Change } from '../schemas.ts';

/** Tells whoever listens in this process what has changed, after it is durable. */
export interface ChangeFeed {
  publish(change: Change): void;
  /** Returns the function that stops listening. */
  subscribe(listener: (change: Change) => void): () => void;
}

export function createChangeFeed(): ChangeFeed {
  const listeners = new Set<(change: Change) => void>();
  return {
    publish(change) {
      for (const listener of listeners) listener(change);
    },
    subscribe(listener) {
      listeners.add(listener);
      return () => listeners.delete(listener);
    },
  };
}

import type { Change } from '../schemas.ts';

/** Tells whoever listens what has changed, after it is durable. */
export interface ChangeFeed {
  publish(change: Change): void;
  /** Other nodes listen as well. */
  readonly hasOthers: boolean;
  /** Resolves when what was published so far is on its way to the other nodes. */
  sent(): Promise<void>;
  /**
   * `listener` hears of changes that were made here and, where several nodes share a database, elsewhere. `missed`
   * is called when some may not have been heard: fetch anew what is shown. Returns the function that stops listening.
   */
  subscribe(listener: (change: Change) => void, missed?: () => void): () => void;
}

interface Listener {
  readonly hear: (change: Change) => void;
  readonly missed: () => void;
}

/** Whoever listens in this process. */
export class Listeners {
  readonly #listeners = new Set<Listener>();

  add(hear: (change: Change) => void, missed: () => void = () => {}): () => void {
    const listener = { hear, missed };
    this.#listeners.add(listener);
    return () => this.#listeners.delete(listener);
  }

  tell(change: Change): void {
    for (const { hear } of this.#listeners) hear(change);
  }

  tellMissed(): void {
    for (const { missed } of this.#listeners) missed();
  }
}

/** For the one node of a plant. */
export function createChangeFeed(): ChangeFeed {
  const listeners = new Listeners();
  return {
    publish: (change) => listeners.tell(change),
    hasOthers: false,
    sent: async () => {},
    subscribe: (listener, missed) => listeners.add(listener, missed),
  };
}

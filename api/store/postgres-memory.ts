import type { ChainHead } from '../audit/audit-chain.ts';
import { newMemory, type StreamMemory, type WriterMemory } from './stream-memory.ts';

interface Kept {
  readonly memory: StreamMemory;
  readonly plantRevision: number;
}

const MOST_REMEMBERED = 5_000;

/**
 * What this node remembers of the streams that it wrote. Other nodes write too, so each memory is compared with the
 * head of the stream's audit chain, which everything that is recorded of a stream moves on. A transaction takes the
 * memory out and puts it back when it has committed, so what failed is never remembered.
 */
export class NodeMemory {
  readonly #kept = new Map<string, Kept>();

  take(stream: string, head: ChainHead, plantRevision: number): StreamMemory {
    const kept = this.#kept.get(stream);
    this.#kept.delete(stream);
    const known = kept?.memory.head;
    if (kept === undefined || known?.no !== head.no || !known.digest.equals(head.digest)) {
      return { ...newMemory(), head };
    }
    if (kept.plantRevision !== plantRevision) kept.memory.models.clear();
    return kept.memory;
  }

  keep(streams: ReadonlyMap<string, StreamMemory>, plantRevision: number): void {
    if (this.#kept.size > MOST_REMEMBERED) this.#kept.clear();
    for (const [stream, memory] of streams) this.#kept.set(stream, { memory, plantRevision });
  }
}

/** Of one transaction: the streams that it holds the locks of. */
export class TransactionMemory implements WriterMemory {
  /** null: nobody else writes, so that every stream is its own. */
  readonly #held: ReadonlySet<string> | null;
  readonly streams = new Map<string, StreamMemory>();

  constructor(held: readonly string[] | null) {
    this.#held = held === null ? null : new Set(held);
  }

  of(stream: string): StreamMemory {
    let memory = this.streams.get(stream);
    if (memory === undefined) {
      if (this.#held !== null && !this.#held.has(stream)) {
        throw new Error(`The transaction did not say that it writes ${JSON.stringify(stream)}.`);
      }
      memory = newMemory();
      this.streams.set(stream, memory);
    }
    return memory;
  }

  forget(): void {
    this.streams.clear();
  }
}

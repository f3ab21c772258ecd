import type { ChainHead } from '../audit/audit-chain.ts';
import type { PlantModel } from '../schemas.ts';
import type { ChartedSample, LimitsRow } from './store.ts';

/** What judging the next sample of a stream and model begins with. */
export interface Remembered {
  readonly plant: PlantModel;
  readonly limits: readonly LimitsRow[];
  readonly activeAlarmId: number | null;
  /** The newest charted samples, oldest first. */
  tail: readonly ChartedSample[];
}

/** A stream as a writer last read or wrote it: reading it anew for every sample takes a third of the time. */
export interface StreamMemory {
  /** By part model. */
  readonly models: Map<string, Remembered>;
  /** The last entry of its audit chain; undefined: not read yet. */
  head: ChainHead | undefined;
}

/**
 * What the writers of this process remember. It holds while nobody else has written, which each engine tells in its
 * own way, and is dropped with a transaction that fails and by every write that it does not follow.
 */
export interface WriterMemory {
  /** Of a stream, or of NO_STREAM. */
  of(stream: string): StreamMemory;
  forget(): void;
}

const MOST_REMEMBERED = 5_000;

export const newMemory = (): StreamMemory => ({ models: new Map(), head: undefined });

/** For a single writer: one memory of all streams. */
export class MemoryOfAll implements WriterMemory {
  readonly #streams = new Map<string, StreamMemory>();

  of(stream: string): StreamMemory {
    let memory = this.#streams.get(stream);
    if (memory === undefined) {
      if (this.#streams.size >= MOST_REMEMBERED) this.#streams.clear();
      memory = newMemory();
      this.#streams.set(stream, memory);
    }
    return memory;
  }

  forget(): void {
    this.#streams.clear();
  }
}

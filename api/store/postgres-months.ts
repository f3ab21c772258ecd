import type { ClientBase } from 'pg';
import { makeMonth, monthOf } from './postgres-partitions.ts';

/** Months made before they begin. */
const AHEAD = 2;

/** The months that have their partitions, as far as this node knows. */
export class Months {
  readonly #known = new Map<number, Promise<void>>();
  readonly #connect: () => Promise<ClientBase & { release(broken?: boolean): void }>;

  constructor(connect: () => Promise<ClientBase & { release(broken?: boolean): void }>) {
    this.#connect = connect;
  }

  /**
   * Makes the partitions of a moment's month where they are missing, on a connection of its own: a transaction that
   * made them itself would hold up everybody until it ends.
   */
  make(time: number): Promise<void> {
    const month = monthOf(time);
    let made = this.#known.get(month.from);
    if (made === undefined) {
      made = this.#made(month);
      this.#known.set(month.from, made);
      made.catch(() => this.#known.delete(month.from));
    }
    return made;
  }

  /** Before they are needed: the first sample of a month need not wait. */
  async makeAhead(now: number): Promise<void> {
    let time = now;
    for (let count = 0; count <= AHEAD; count++) {
      await this.make(time);
      time = monthOf(time).to;
    }
  }

  /** Somebody has taken partitions away. */
  forget(): void {
    this.#known.clear();
  }

  async #made(month: ReturnType<typeof monthOf>): Promise<void> {
    const client = await this.#connect();
    try {
      await makeMonth(client, month);
      client.release();
    } catch (error) {
      client.release(true);
      throw error;
    }
  }
}

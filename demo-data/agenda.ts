interface Action {
  readonly at: number;
  readonly order: number;
  readonly run: () => Promise<void>;
}

/** Things to do, in the order of their times; things of one time in the order in which they were added. */
export class Agenda {
  readonly #actions: Action[] = [];
  #added = 0;
  #sorted = true;

  add(at: number, run: () => Promise<void>): void {
    this.#actions.push({ at, order: this.#added++, run });
    this.#sorted = false;
  }

  /** The earliest action, taken out. */
  next(): Action | undefined {
    if (!this.#sorted) this.#actions.sort((a, b) => b.at - a.at || b.order - a.order);
    this.#sorted = true;
    return this.#actions.pop();
  }
}

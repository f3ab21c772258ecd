import { Socket } from 'node:net';

/**
 * A connection on which everything written in one turn of the event loop leaves together. Each statement would be
 * sent by itself otherwise, and handing it to the network costs more than making it.
 */
export class GatheringSocket extends Socket {
  #isGathering = false;

  // The driver holds back what it writes while it puts one statement together; here until the turn ends.
  override cork(): void {
    if (this.#isGathering) return;
    this.#isGathering = true;
    super.cork();
    process.nextTick(() => {
      this.#isGathering = false;
      super.uncork();
    });
  }

  override uncork(): void {}
}

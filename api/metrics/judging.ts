import { channel } from 'node:diagnostics_channel';

/** How long one sample took to be judged, for whoever listens; costs nothing where nobody does. */
export interface Judged {
  readonly milliseconds: number;
}

export const judged = channel('runtrue:judged');

/** Runs `work` and tells how long it took. */
export async function timedJudging<T>(work: () => Promise<T>): Promise<T> {
  if (!judged.hasSubscribers) return work();
  const began = performance.now();
  const result = await work();
  const told: Judged = { milliseconds: performance.now() - began };
  judged.publish(told);
  return result;
}

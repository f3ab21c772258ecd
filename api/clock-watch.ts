import type { Logger } from 'pino';

const LOOK_EVERY = 10_000;
/** As far as the clocks of stations may run ahead (validate-sample.ts). */
const JUMP = 5 * 60_000;

/**
 * Says in the log when the clock of the machine jumps against its steady one: times of records, due samples and the
 * age beyond which a signal calls nobody all hang on it. Gives the function that ends the watch.
 */
export function watchClock(
  log: Logger,
  wall: () => number = () => Date.now(),
  steady: () => number = () => performance.now(),
): () => void {
  let distance = wall() - steady();
  const watching = setInterval(() => {
    const jump = wall() - steady() - distance;
    if (Math.abs(jump) < JUMP) return;
    distance += jump;
    const minutes = Math.round(Math.abs(jump) / 60_000);
    log.error(
      { minutes: jump < 0 ? -minutes : minutes, now: new Date(wall()).toISOString() },
      `The clock of this machine jumped ${jump < 0 ? 'back' : 'forward'} by ${minutes} minutes, or the machine slept. Check its time: samples are judged late or refused while it is wrong.`,
    );
  }, LOOK_EVERY);
  watching.unref();
  return () => clearInterval(watching);
}

/**
 * Which mutants a test reaches, and how often. Stryker's own counting looks names up in an object at every step, which
 * takes twenty times as long as the code it counts in; bundle-tests.mjs puts this in its place.
 */

const counts = new Uint32Array(1 << 17);
let reached: number[] = [];
let steps = 0;
let mostSteps = Infinity;
let counting = false;

export function countMutants(...mutants: readonly number[]): void {
  if (!counting) return;
  for (const mutant of mutants) if (counts[mutant]!++ === 0) reached.push(mutant);
  if (++steps > mostSteps) throw new Error(`More than ${mostSteps} steps.`);
}

/** From the step after `most` on, an error breaks off what is counted. */
export function startCounting(most = Infinity): void {
  mostSteps = most;
  counting = true;
}

export function stopCounting(): void {
  counting = false;
}

/** What was counted since the last call. */
export function takeCounts(): { steps: number; perMutant: Record<string, number> } {
  const taken = { steps, perMutant: Object.fromEntries(reached.map((mutant) => [mutant, counts[mutant]!])) };
  for (const mutant of reached) counts[mutant] = 0;
  reached = [];
  steps = 0;
  return taken;
}

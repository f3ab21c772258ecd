/** The tests that have to notice a mutant: those of the core, which need neither a build nor a browser. */
import { collect, collectedTests } from './in-process.ts';
import { startCounting, stopCounting, takeCounts } from './reach.ts';

startCounting();
const files = import.meta.glob([
  '../src/**/*.test.ts',
  '../reference/**/*.test.ts',
  // Simulations, and nothing else.
  '!../src/capability/coverage.test.ts',
  '!../src/charts/false-alarm-rates.test.ts',
]);
for (const [file, load] of Object.entries(files)) await collect(file.replace('../', ''), load);

export const reachedWhileLoading = takeCounts().perMutant;
export const tests = collectedTests();
stopCounting();

export { startCounting, stopCounting, takeCounts };

/** `npm run attack -- 1000000 [seed]`: that many drawn requests against the app in this process. */
import { attack, growthOf } from './attack.ts';
import { appUnderAttack, inProcess } from './targets.ts';

const [requestsGiven = '20000', seedGiven = '1'] = process.argv.slice(2);
const requests = Number(requestsGiven);
const seed = Number(seedGiven);
if (!Number.isSafeInteger(requests) || requests < 1 || !Number.isSafeInteger(seed)) {
  console.error('Usage: npm run attack -- <number of requests> [seed, a whole number]');
  process.exit(2);
}

const MOST_GROWTH = 16 * 1024 * 1024;
const mebibytes = (bytes: number): string => (bytes / 1024 / 1024).toFixed(1);

const app = await appUnderAttack(new URL('..', import.meta.url).pathname);
const began = performance.now();
let toldAt = began;
let faultsTold = 0;
const result = await attack(inProcess(app), {
  requests,
  seed,
  onBatch: ({ sent, faults, heap }) => {
    for (const { complaint, seed: batch, place, request, answer } of faults.slice(faultsTold))
      console.log(`\n--- ${complaint} (batch ${batch}, place ${place})\n${request}\n>>> ${answer}\n`);
    faultsTold = faults.length;
    if (performance.now() - toldAt < 10_000) return;
    toldAt = performance.now();
    const rate = Math.round((sent / (toldAt - began)) * 1000);
    console.log(
      `${sent} sent, ${rate} a second, ${faults.length} kinds of fault, heap ${mebibytes(heap.at(-1)!)} MiB`,
    );
  },
});
await app.close();

const counts = [...result.statuses].sort(([a], [b]) => a - b).map(([status, count]) => `${status}: ${count}`);
console.log(`\nSeed ${seed}, ${result.sent} requests, ${result.reached.size} operations reached.`);
console.log(`Statuses ${counts.join(', ')}.`);
const growth = growthOf(result.heap);
console.log(`Heap after collection, last third against the second: ${mebibytes(growth)} MiB more.`);
console.log(`${result.faults.length} kinds of fault.`);
process.exit(result.faults.length > 0 || growth > MOST_GROWTH ? 1 : 0);

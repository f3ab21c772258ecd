/**
 * `npm run faults -- kills 1000 [--seed 7]`: real processes, real signals, until so many kills are done. Ends with
 * code 1 where anything was lost, doubled or judged differently.
 */
import { parseArgs } from 'node:util';
import { passingFolder, sqliteEngine } from './engine.ts';
import { runKills } from './kills.ts';

const { positionals, values } = parseArgs({
  allowPositionals: true,
  options: { seed: { type: 'string', default: '20250901' } },
});
const [what, count] = positionals;
const kills = Number(count);
if (what !== 'kills' || !Number.isInteger(kills) || kills < 1) {
  console.error('Say what to do: npm run faults -- kills <number> [--seed <number>]');
  process.exit(2);
}

const engine = sqliteEngine();
const replayEngine = sqliteEngine(passingFolder());
const result = await runKills({
  engine,
  replayEngine,
  kills,
  seed: Number(values.seed),
  onProgress: (done, written) => console.log(`${done} kills, ${written} writes acknowledged`),
});
await replayEngine.end();

const { problems, written, writers: _, begin: _begin, ...figures } = result;
console.log({ engine: engine.name, ...figures, written });
if (problems.length === 0) {
  await engine.end();
  console.log(
    'Everything that was acknowledged is there once, the database is whole, and the replay agrees.',
  );
} else {
  console.log(`The data are left at ${JSON.stringify(engine.environment)} for a look.`);
  for (const problem of problems) console.log(`- ${problem}`);
  process.exitCode = 1;
}

/**
 * `npm run faults -- kills 1000 [sqlite|postgres] [--seed 7]`: real processes, real signals, until so many kills are done. Ends with
 * code 1 where anything was lost, doubled or judged differently.
 *
 * `npm run soak -- [--days 24] [--speed 1000] [--boards 20]`: many plant-days in a short time. Ends with code 1 where
 * memory or times grow.
 */
import { parseArgs } from 'node:util';
import { passingFolder, postgresEngine, sqliteEngine } from './engine.ts';
import { runKills } from './kills.ts';
import { runSoak } from './soak.ts';

const usage = `Say what to do:
  npm run faults -- kills <number> [sqlite|postgres] [--seed <number>]
  npm run soak -- [--days 24] [--speed 1000] [--boards 20]`;

const { positionals, values } = parseArgs({
  allowPositionals: true,
  options: {
    seed: { type: 'string', default: '20250901' },
    days: { type: 'string', default: '24' },
    speed: { type: 'string', default: '1000' },
    boards: { type: 'string', default: '20' },
  },
});

function numberOf(name: string, text: string | undefined): number {
  const number = Number(text);
  if (text !== undefined && Number.isInteger(number) && number >= 1) return number;
  console.error(`${name} must be a whole number from 1 on, not ${text ?? 'nothing'}.\n${usage}`);
  process.exit(2);
}

async function kills(): Promise<boolean> {
  const name = positionals[2] ?? 'sqlite';
  if (name !== 'sqlite' && name !== 'postgres') {
    console.error(`The engine must be sqlite or postgres, not ${name}.\n${usage}`);
    process.exit(2);
  }
  const engine = name === 'postgres' ? await postgresEngine() : sqliteEngine();
  const replayEngine = sqliteEngine(passingFolder());
  const result = await runKills({
    engine,
    replayEngine,
    kills: numberOf('The number of kills', positionals[1]),
    seed: numberOf('--seed', values.seed),
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
    return true;
  }
  console.log(`The data are left at ${JSON.stringify(engine.environment)} for a look.`);
  for (const problem of problems) console.log(`- ${problem}`);
  return false;
}

const soak = (): Promise<boolean> =>
  runSoak(
    {
      days: numberOf('--days', values.days),
      speed: numberOf('--speed', values.speed),
      boards: numberOf('--boards', values.boards),
    },
    (line) => console.log(line),
  );

const work = { kills, soak }[positionals[0] ?? ''];
if (work === undefined) {
  console.error(usage);
  process.exit(2);
}
if (!(await work())) process.exitCode = 1;

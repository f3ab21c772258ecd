// Starts Stryker and prints the score as one plain line; without arguments it first says how to ask for one folder.
import { spawnSync } from 'node:child_process';
import { readFileSync, rmSync } from 'node:fs';

const report = 'dist/mutation/report.json';
const args = process.argv.slice(2);
if (!args.includes('--mutate'))
  console.log(`Mutation testing of all of src/. This may take many hours. One folder takes minutes:
  MUTATION_TESTS="tests/src/wear/*.test.ts,tests/reference/batch-and-wear.test.ts" npm run mutation -- --mutate "src/wear/**/*.ts"
MUTATION_TESTS names the tests that have to notice; without it all tests of the core run.\n`);

rmSync(report, { force: true });
const { status } = spawnSync('npx', ['stryker', 'run', ...args], { stdio: 'inherit' });
if (status !== 0) process.exit(status ?? 1);

const { files } = JSON.parse(readFileSync(report, 'utf8'));
const mutants = Object.values(files).flatMap((file) => file.mutants);
/** Killed and timed out count as noticed; ignored ones and those that do not compile do not count at all. */
function score(name, counted) {
  const of = (...statuses) => counted.filter((mutant) => statuses.includes(mutant.status)).length;
  const noticed = of('Killed', 'Timeout');
  const all = noticed + of('Survived', 'NoCoverage');
  const percent = all === 0 ? '-' : ((100 * noticed) / all).toFixed(1);
  console.log(
    `${name}: ${percent} % (${noticed} of ${all} noticed, ${of('Survived')} survived, ${of('NoCoverage')} not reached by any test)`,
  );
}
score('Mutation score', mutants);
score(
  'Without changed words (sentences are for people)',
  mutants.filter(({ mutatorName }) => mutatorName !== 'StringLiteral'),
);

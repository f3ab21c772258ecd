/** `npm run bench [core] [engines] [boards] [charts] [query] [path] [page]`: prints ratios, each against a baseline measured in the same run. */
import * as boards from './boards.ts';
import * as query from './chart-query.ts';
import * as charts from './charts.ts';
import * as core from './core.ts';
import * as engines from './engines.ts';
import * as page from './page.ts';
import * as path from './path.ts';

const benches: Record<string, { run: (words: readonly string[]) => void | Promise<void> }> = {
  core,
  engines,
  boards,
  charts,
  query,
  path,
  page,
};
const asked = process.argv.slice(2).filter((argument) => argument in benches);
const words = process.argv.slice(2).filter((argument) => !(argument in benches));

for (const [name, bench] of Object.entries(benches)) {
  if (asked.length > 0 && !asked.includes(name)) continue;
  console.log(`\n== ${name}`);
  await bench.run(words);
}

/**
 * Every chart of tests/bench/charts/ over its many points: time, and its ratio to one pass over the memory of its
 * input (a plain sum) and to the plainest correct loop, in the same run and in turns. Then the calculations that a
 * person waits for, in milliseconds. `npm run bench charts [words of a name]`.
 */
import type { ChartBench, TimedCalculation } from './charts/chart-bench.ts';
import { medianTimes, onePass } from './turns.ts';

interface Topic {
  readonly benches?: readonly ChartBench[];
  readonly timed?: readonly TimedCalculation[];
}

const topics = import.meta.glob<Topic>(['./charts/*.ts', '!./charts/chart-bench.ts']);
const REPETITIONS = 9;
const WIDEST_RATIO = 10;
/** What follows a slider. */
const LONGEST_MILLISECONDS = 50;

const right = (text: string, width: number): string => text.padStart(width);

function showChart({ name, points, input, run, plain }: ChartBench): boolean {
  const [pass = 0, loop = 0, chart = 0] = medianTimes([() => onePass(input), plain, run], REPETITIONS);
  const ratio = chart / pass;
  const beyond = ratio > WIDEST_RATIO;
  const columns = [
    right(points.toLocaleString('en'), 11),
    right(`${chart.toFixed(2)} ms`, 12),
    right(`${ratio.toFixed(1)} x`, 9),
    right(`${(chart / loop).toFixed(2)} x`, 9),
  ];
  console.log(`${name.padEnd(52)}${columns.join('')}${beyond ? `   beyond ${WIDEST_RATIO} x` : ''}`);
  return beyond;
}

function showTimed({ name, run }: TimedCalculation): boolean {
  const [time = 0] = medianTimes([run], REPETITIONS, 2);
  const beyond = time > LONGEST_MILLISECONDS;
  console.log(
    `${name.padEnd(63)}${right(`${time.toFixed(2)} ms`, 12)}${beyond ? `   beyond ${LONGEST_MILLISECONDS} ms` : ''}`,
  );
  return beyond;
}

export async function run(words: readonly string[] = []): Promise<void> {
  const asked = ({ name }: { readonly name: string }) =>
    words.length === 0 || words.some((word) => name.toLowerCase().includes(word.toLowerCase()));
  const charts: ChartBench[] = [];
  const waited: TimedCalculation[] = [];
  for (const load of Object.values(topics)) {
    const topic = await load();
    charts.push(...(topic.benches ?? []).filter(asked));
    waited.push(...(topic.timed ?? []).filter(asked));
  }
  console.log(
    `${'chart'.padEnd(52)}${right('points', 11)}${right('time', 12)}${right('/ pass', 9)}${right('/ loop', 9)}`,
  );
  const wide = charts.map(showChart).filter(Boolean).length;
  console.log(`${wide} of ${charts.length} charts beyond ${WIDEST_RATIO} times one memory pass\n`);
  const slow = waited.map(showTimed).filter(Boolean).length;
  console.log(`${slow} of ${waited.length} calculations beyond ${LONGEST_MILLISECONDS} ms`);
}

/**
 * Bulk path of the core on 10⁶ subgroups of 5 in one Float64Array, against passes over the same memory in the same
 * run, and evaluateNewest on one window. Medians of several repetitions.
 */
import {
  evaluateNewest,
  evaluateReadings,
  type MonitoringSettings,
  runRuleNames,
  subgroupStatistics,
  windowLength,
} from '../../src/index.ts';
import { medianTimes, onePass } from './turns.ts';

const subgroups = 1_000_000;
const subgroupSize = 5;
const repetitions = 11;

/** Roughly normal readings about 10 with a standard deviation of 0.1, the same in every run. */
function makeReadings(): Float64Array {
  const readings = new Float64Array(subgroups * subgroupSize);
  let state = 20260101;
  for (let i = 0; i < readings.length; i++) {
    let sum = 0;
    for (let k = 0; k < 12; k++) {
      state = (Math.imul(state, 1664525) + 1013904223) | 0;
      sum += (state >>> 0) / 2 ** 32;
    }
    readings[i] = 10 + 0.1 * (sum - 6);
  }
  return readings;
}

/** Four sums side by side: nearer to what the memory itself allows. */
function onePassInFourSums(readings: Float64Array): number {
  let a = 0;
  let b = 0;
  let c = 0;
  let d = 0;
  for (let i = 0; i + 3 < readings.length; i += 4) {
    a += readings[i]!;
    b += readings[i + 1]!;
    c += readings[i + 2]!;
    d += readings[i + 3]!;
  }
  return a + b + c + d;
}

const plainMeans = new Float64Array(subgroups);
const plainRanges = new Float64Array(subgroups);

function plainMeansAndRanges(readings: Float64Array): void {
  for (let subgroup = 0, place = 0; subgroup < subgroups; subgroup++) {
    let sum = 0;
    let smallest = Number.POSITIVE_INFINITY;
    let largest = Number.NEGATIVE_INFINITY;
    for (let k = 0; k < subgroupSize; k++) {
      const reading = readings[place++]!;
      sum += reading;
      if (reading < smallest) smallest = reading;
      if (reading > largest) largest = reading;
    }
    plainMeans[subgroup] = sum / subgroupSize;
    plainRanges[subgroup] = largest - smallest;
  }
}

export function run(): void {
  const readings = makeReadings();
  const all = { rules: runRuleNames };
  const beyond = { rules: ['one-beyond-three-sigma'] as const };
  const columns = {
    means: new Float64Array(subgroups),
    ranges: new Float64Array(subgroups),
    locationSignals: new Uint8Array(subgroups),
    spreadSignals: new Uint8Array(subgroups),
  };
  const options = { subgroupSize, locationRules: all, spreadRules: all };
  const [pass = 0, fourSums = 0, plain = 0, bothCharts = 0, meansOnly = 0, freshColumns = 0] = medianTimes(
    [
      () => onePass(readings),
      () => onePassInFourSums(readings),
      () => plainMeansAndRanges(readings),
      () => evaluateReadings(readings, { ...options, columns }),
      () => evaluateReadings(readings, { ...options, spreadRules: beyond, columns }),
      () => evaluateReadings(readings, options),
    ],
    repetitions,
  );

  const ms = (time: number) => `${time.toFixed(2)} ms`;
  const times = (time: number, base: number) => `${(time / base).toFixed(2)} x`;
  console.log(`${subgroups} subgroups of ${subgroupSize}, median of ${repetitions}`);
  console.log(`one pass over the memory, plain sum            ${ms(pass)}`);
  console.log(`one pass over the memory, four sums            ${ms(fourSums)}`);
  console.log(`plain loop for means and ranges                ${ms(plain)}`);
  for (const [name, time] of [
    ['means, ranges, limits, eight rules on both charts', bothCharts],
    ['the same, eight rules on means, one on ranges', meansOnly],
    ['eight rules on both charts, into fresh memory', freshColumns],
  ] as const)
    console.log(
      `${name}: ${ms(time)} = ${times(time, pass)} one pass (${times(time, fourSums)} in four sums), ${times(time, plain)} the plain loop`,
    );

  const settings: MonitoringSettings = {
    kind: 'mean-range',
    locationRules: all,
    spreadRules: all,
    lowerNaturalBound: null,
    upperNaturalBound: null,
  };
  const standard = { mean: 10, withinSubgroupStandardDeviation: 0.1, meanStandardDeviation: null };
  const statistics = Array.from({ length: 20_000 }, (_, subgroup) =>
    subgroupStatistics(Array.from(readings.subarray(subgroup * subgroupSize, (subgroup + 1) * subgroupSize))),
  );
  const length = windowLength(settings);
  const windows = statistics.slice(length).map((_, start) => statistics.slice(start, start + length));
  const [newest = 0] = medianTimes(
    [
      () => {
        for (const window of windows) evaluateNewest(window, standard, settings);
      },
    ],
    repetitions,
  );
  console.log(
    `evaluateNewest, eight rules on both charts, window of ${length}: ${((newest / windows.length) * 1000).toFixed(2)} µs`,
  );
}

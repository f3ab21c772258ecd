import { requireFinite, requireFiniteValues, requireFraction, requireWhole } from '../checks.ts';
import { type Outcome, StatisticsError } from '../errors.ts';
import { randomSource } from '../numerics/random.ts';
import { shuffle } from '../numerics/shuffle.ts';
import { sumOfProducts } from '../samples/serial-correlations.ts';
import { statisticsOf } from '../samples/subgroup-statistics.ts';
import { autocorrelations } from './autocorrelations.ts';
import { falseAlarmRates } from './false-alarms-under-autocorrelation.ts';

export interface AutocorrelationTestOptions {
  /** A p-value below it counts as proof, in (0, 1). Default 0.01. */
  readonly significance?: number;
  /**
   * Random orders that the p-value is counted from, whole, 0 … 100,000; good for few or far from normal values. 0: the
   * normal approximation. Default 0. n times permutations is at most 10⁸.
   */
  readonly permutations?: number;
  /** Start of the random orders. Default 1. */
  readonly seed?: number;
}

export interface AutocorrelationTest {
  readonly n: number;
  /** At lag 1. */
  readonly correlation: number;
  /** −1/n, what independent values show on average. */
  readonly expected: number;
  readonly standardError: number;
  /** Two-sided. */
  readonly pValue: number;
  readonly pValueMethod: 'normal approximation' | 'permutation';
  /** 'slow drift': positive and proven. 'over-adjustment suspected': negative and proven. */
  readonly pattern: 'none proven' | 'slow drift' | 'over-adjustment suspected';
  /** One plain statement: what was found, why it matters for the chart, what to do. */
  readonly message: string;
}

/**
 * Do neighbouring values remember each other? Tests the lag-1 correlation and says what it means for the chart.
 *
 * Positive: the process drifts slowly or has inertia, moving ranges come out too small, and an ordinary chart calls many
 * good points signals. Negative: often the mark of adjusting after every value; moving ranges come out too large, and
 * the chart sees changes too late.
 *
 * @param values   n ≥ 4 finite numbers in time order, one unit.
 * @param options  significance, permutations, seed.
 * @returns        the test; Unavailable `too-few-values`, `no-variation`.
 * @throws         StatisticsError `empty`, `not-finite`, `out-of-range`, `not-an-integer`.
 *
 * Source: as autocorrelations; permutation p-value (1 + count)/(1 + permutations) after Davison and Hinkley, Bootstrap
 * Methods and their Application, 1997, section 4.3. Over-adjustment: Deming, Out of the Crisis, 1986, chapter 11.
 *
 * @example
 * autocorrelationTest([3, 1, 3, 1, 4, 1, 3, 0, 3, 1, 3, 1]);
 * // available, correlation -0.833…, pattern "over-adjustment suspected"
 */
export function autocorrelationTest(
  values: readonly number[],
  options: AutocorrelationTestOptions = {},
): Outcome<AutocorrelationTest> {
  const { significance = 0.01, permutations = 0, seed = 1 } = options;
  requireFiniteValues(values, 'values');
  requireFraction(significance, 'options.significance');
  requireWhole(permutations, 0, 100_000, 'options.permutations');
  requireFinite(seed, 'options.seed');
  if (permutations * values.length > 1e8)
    throw new StatisticsError(
      'out-of-range',
      'options.permutations',
      permutations,
      'Values times permutations is at most 10⁸: with so many values the normal approximation (0) is good.',
    );
  const computed = autocorrelations(values);
  if (!computed.available) return computed;
  const { correlation, expected, standardError, pValue: normalPValue } = computed.lags[0]!;
  const pValue =
    permutations === 0 ? normalPValue : permutationPValue(values, correlation - expected, permutations, seed);
  const pattern =
    pValue >= significance
      ? 'none proven'
      : correlation > expected
        ? 'slow drift'
        : 'over-adjustment suspected';
  return {
    available: true,
    n: values.length,
    correlation,
    expected,
    standardError,
    pValue,
    pValueMethod: permutations === 0 ? 'normal approximation' : 'permutation',
    pattern,
    message: sentences(pattern, correlation, pValue),
  };
}

/** Share of random orders whose correlation lies at least as far from its mean, the given order counted in. */
function permutationPValue(
  values: readonly number[],
  distance: number,
  permutations: number,
  seed: number,
): number {
  const random = randomSource(seed);
  const mean = statisticsOf(values, 'values').mean!;
  const shuffled = Float64Array.from(values, (value) => value - mean);
  const squares = sumOfProducts(shuffled, 0);
  // Orders that tie with the given one count, whatever the rounding.
  const far = Math.abs(distance) * (1 - 1e-12);
  let count = 1;
  for (let round = 0; round < permutations; round++) {
    shuffle(shuffled, random);
    if (Math.abs(sumOfProducts(shuffled, 1) / squares + 1 / shuffled.length) >= far) count++;
  }
  return count / (1 + permutations);
}

function sentences(pattern: AutocorrelationTest['pattern'], correlation: number, pValue: number): string {
  const figures = `lag-1 correlation ${correlation.toFixed(2)}, p ${pValue < 0.001 ? 'below 0.001' : `= ${pValue.toFixed(3)}`}`;
  if (pattern === 'none proven')
    return `No correlation of neighbouring values is proven (${figures}). The ordinary chart applies.`;
  const { falseAlarmRate } = falseAlarmRates(correlation, 3);
  const percent = (rate: number) => `${Number((100 * rate).toPrecision(2))} %`;
  return pattern === 'slow drift'
    ? `Neighbouring values are alike (${figures}): the process drifts slowly. The ordinary chart misleads: its moving ranges come out too small, so about ${percent(falseAlarmRate)} of good points would lie outside its limits instead of 0.27 %. Look for the cause of the drift, take samples further apart, or use the residual chart.`
    : `Neighbouring values swing back and forth (${figures}): over-adjustment suspected. The ordinary chart misleads: its moving ranges come out too large, so its limits are too wide and it sees a change too late (${percent(falseAlarmRate)} of good points outside instead of 0.27 %). Do not adjust after single values; adjust on a signal, as the reaction plan says.`;
}

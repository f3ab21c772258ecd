import { requireFinite, requireWhole } from '../checks.ts';
import { type Outcome, StatisticsError, type Unavailable } from '../errors.ts';
import { fUpperTail } from '../numerics/f-distribution.ts';
import { studentTUpperTail } from '../numerics/student-t.ts';

/** One measured value and how far the tool had worked. */
export interface WearSample {
  /** Strokes, hits or hours since the last regrind or tool change; any unit, the same throughout. */
  readonly hits: number;
  /** Measured value, or the logarithm of one that grows in proportion (a burr, for one). */
  readonly value: number;
  /** Number of the tool or regrind cycle, whole and ≥ 0; each one has a level of its own. */
  readonly tool: number;
}

/** The line of one tool or regrind cycle: value = intercept + slope · hits, with the slope common to all. */
export interface WearCycle {
  readonly tool: number;
  readonly samples: number;
  readonly intercept: number;
  readonly meanHits: number;
  readonly meanValue: number;
  /** Hits at the cycle's last sample. */
  readonly lastHits: number;
}

/** Parallel lines, one a cycle, fitted by least squares. */
export interface WearLine {
  readonly method: 'analysis of covariance';
  readonly samples: number;
  /** Change of the value with each hit. */
  readonly slope: number;
  readonly slopeStandardError: number;
  /** Student's t of "no wear", slope = 0, with its two-sided probability. */
  readonly slopeT: number;
  readonly slopePValue: number;
  readonly residualStandardDeviation: number;
  /** Samples − cycles − 1. */
  readonly degreesOfFreedom: number;
  /** Sum of squares of the hits about the mean of their cycle, over all cycles. */
  readonly withinSumOfSquares: number;
  /** In order of their first sample. */
  readonly cycles: readonly WearCycle[];
  /** The tool in use: that of the last sample. */
  readonly currentTool: number;
  /** F test of "all cycles wear at the same rate"; null where fewer than two cycles have a slope of their own. */
  readonly slopeHomogeneity: SlopeHomogeneity | null;
}

export interface SlopeHomogeneity {
  readonly fRatio: number;
  /** Numerator, denominator. */
  readonly degreesOfFreedom: readonly [number, number];
  readonly pValue: number;
}

/** Hits and values beyond this cannot be squared and summed. */
const largest = 1e140;

/**
 * How fast does the tool wear? One common slope over all regrind cycles and one level a cycle, by least squares
 * (analysis of covariance), with tests of the slope and of equal slopes.
 *
 * @param samples  in time order; cycles may have any number of samples, at least 2 of them with different hits somewhere.
 * @returns        the lines, in the units of value and hits. Unavailable `too-few-values` without a degree of freedom
 *                 (samples − cycles − 1 < 1), `no-variation` where the hits of no cycle differ or the values lie exactly
 *                 on parallel lines.
 * @throws         StatisticsError `empty`, `not-finite` and `out-of-range` (name the field, as samples.3.hits: hits
 *                 are not negative, magnitudes at most 1e140), `not-an-integer` (tool).
 *
 * Source: Draper and Smith, Applied Regression Analysis, chapters 1 and 14; ISO 7870-5, trended charts.
 *
 * @example
 * wearLine([
 *   { hits: 0, value: 5.0, tool: 0 }, { hits: 100, value: 5.3, tool: 0 }, { hits: 200, value: 5.3, tool: 0 },
 *   { hits: 0, value: 5.1, tool: 1 }, { hits: 100, value: 5.2, tool: 1 },
 * ]);
 * // available, slope 0.00140…, degreesOfFreedom 2, cycles[1].intercept 5.08…
 */
export function wearLine(samples: readonly WearSample[]): Outcome<WearLine> {
  requireWearSamples(samples);
  const byTool = new Map<number, WearSample[]>();
  for (const sample of samples) {
    const cycle = byTool.get(sample.tool);
    if (cycle === undefined) byTool.set(sample.tool, [sample]);
    else cycle.push(sample);
  }
  const degreesOfFreedom = samples.length - byTool.size - 1;
  if (degreesOfFreedom < 1)
    return {
      available: false,
      reason: 'too-few-values',
      message: `${samples.length} samples of ${byTool.size} ${byTool.size === 1 ? 'cycle' : 'cycles'} leave nothing to judge the scatter by. Measure more.`,
    };

  const sums = [...byTool].map(([tool, cycle]) => ({ tool, cycle, ...sumsOf(cycle) }));
  const withinSumOfSquares = total(sums, ({ hitSquares }) => hitSquares);
  if (withinSumOfSquares === 0)
    return noVariation('The hits do not differ within any cycle. Measure at more than one age of the tool.');
  const slope = total(sums, ({ products }) => products) / withinSumOfSquares;
  const squares = residualSquares(sums, () => slope);
  if (squares <= roundingSquares(samples))
    return noVariation(
      'The values lie exactly on parallel lines, which leaves no scatter to draw limits from. Check that the gauge resolves it.',
    );

  const residualStandardDeviation = Math.sqrt(squares / degreesOfFreedom);
  const slopeStandardError = residualStandardDeviation / Math.sqrt(withinSumOfSquares);
  const slopeT = slope / slopeStandardError;
  return {
    available: true,
    method: 'analysis of covariance',
    samples: samples.length,
    slope,
    slopeStandardError,
    slopeT,
    slopePValue: Math.min(1, 2 * studentTUpperTail(Math.abs(slopeT), degreesOfFreedom)),
    residualStandardDeviation,
    degreesOfFreedom,
    withinSumOfSquares,
    cycles: sums.map(({ tool, cycle, meanHits, meanValue }) => ({
      tool,
      samples: cycle.length,
      intercept: meanValue - slope * meanHits,
      meanHits,
      meanValue,
      lastHits: cycle.at(-1)!.hits,
    })),
    currentTool: samples.at(-1)!.tool,
    slopeHomogeneity: homogeneity(sums, samples.length, squares),
  };
}

/** Checks the samples of a wear chart, naming the field. */
export function requireWearSamples(samples: readonly WearSample[]): void {
  if (samples.length === 0) throw new StatisticsError('empty', 'samples', samples);
  samples.forEach((sample, index) => {
    requireWearSample(sample, `samples.${index}`);
    requireWhole(sample.tool, 0, Number.MAX_SAFE_INTEGER, `samples.${index}.tool`);
  });
}

export function requireWearSample({ hits, value }: Omit<WearSample, 'tool'>, argument: string): void {
  requireFinite(hits, `${argument}.hits`);
  if (hits < 0 || hits > largest)
    throw new StatisticsError(
      'out-of-range',
      `${argument}.hits`,
      hits,
      'Hits since the last regrind are never negative, and at most 1e140.',
    );
  requireFinite(value, `${argument}.value`);
  if (Math.abs(value) > largest)
    throw new StatisticsError('out-of-range', `${argument}.value`, value, 'It must lie between ±1e140.');
}

interface CycleSums {
  readonly cycle: readonly WearSample[];
  readonly meanHits: number;
  readonly meanValue: number;
  readonly hitSquares: number;
  readonly products: number;
}

/** Means as distances from the first sample, squares about the means: no digits are lost far from zero. */
function sumsOf(cycle: readonly WearSample[]): Omit<CycleSums, 'cycle'> {
  const first = cycle[0]!;
  const meanHits = first.hits + total(cycle, ({ hits }) => hits - first.hits) / cycle.length;
  const meanValue = first.value + total(cycle, ({ value }) => value - first.value) / cycle.length;
  return {
    meanHits,
    meanValue,
    hitSquares: total(cycle, ({ hits }) => (hits - meanHits) ** 2),
    products: total(cycle, ({ hits, value }) => (hits - meanHits) * (value - meanValue)),
  };
}

function residualSquares(sums: readonly CycleSums[], slopeOf: (cycle: CycleSums) => number): number {
  return total(sums, (one) => {
    const slope = slopeOf(one);
    return total(
      one.cycle,
      ({ hits, value }) => (value - one.meanValue - slope * (hits - one.meanHits)) ** 2,
    );
  });
}

/** Separate slopes against the common one. A cycle with a single age of the tool has no slope of its own. */
function homogeneity(
  sums: readonly CycleSums[],
  samples: number,
  commonSquares: number,
): SlopeHomogeneity | null {
  const slopes = sums.filter(({ hitSquares }) => hitSquares > 0).length;
  const numerator = slopes - 1;
  const denominator = samples - sums.length - slopes;
  if (numerator < 1 || denominator < 1) return null;
  const separate = residualSquares(sums, ({ hitSquares, products }) =>
    hitSquares === 0 ? 0 : products / hitSquares,
  );
  if (separate <= commonSquares * Number.EPSILON) return null;
  const fRatio = Math.max(0, commonSquares - separate) / numerator / (separate / denominator);
  return {
    fRatio,
    degreesOfFreedom: [numerator, denominator],
    pValue: fUpperTail(fRatio, numerator, denominator),
  };
}

/** What rounding alone leaves as residual sum of squares. */
function roundingSquares(samples: readonly WearSample[]): number {
  return total(samples, ({ value }) => (4 * Number.EPSILON * value) ** 2);
}

function total<Item>(items: readonly Item[], of: (item: Item) => number): number {
  let sum = 0;
  for (const item of items) sum += of(item);
  return sum;
}

function noVariation(message: string): Unavailable {
  return { available: false, reason: 'no-variation', message };
}

import { requireBetween, requireFiniteValues, requirePositive } from '../checks.ts';
import { type Outcome, StatisticsError, type Unavailable } from '../errors.ts';
import { randomSource } from '../numerics/random.ts';
import { randomGamma } from '../numerics/random-gamma.ts';
import { statisticsOf } from '../samples/subgroup-statistics.ts';
import { checkedVerdict, type IndexVerdict, indexVerdict, type VerdictOptions } from './index-verdict.ts';
import { normalIndices } from './normal-indices.ts';
import { checkedResampling, drawnInterval, drawnQuantile, type ResamplingOptions } from './resampling.ts';
import { effectiveLimits, type SpecificationLimits } from './specification.ts';

export interface PerformanceOfPartsOptions extends ResamplingOptions, VerdictOptions {
  /** Of one value as it is recorded, in the unit of the values, > 0: repeatability and reproducibility together. */
  readonly gaugeStandardDeviation: number;
  /** Behind that standard deviation, at least 0.5; null: known exactly. */
  readonly gaugeDegreesOfFreedom: number | null;
}

/** An index of the parts themselves. `upper` and `upperBound` are null where the parts may hardly vary at all. */
export interface PartsIndex {
  readonly estimate: number;
  readonly sampleSize: number;
  readonly method: 'generalised interval';
  readonly confidence: number;
  readonly lower: number;
  readonly upper: number | null;
  readonly lowerBound: number;
  readonly upperBound: number | null;
  readonly exact: false;
}

export interface PerformanceOfParts {
  readonly sampleSize: number;
  readonly mean: number;
  readonly observedStandardDeviation: number;
  readonly gaugeStandardDeviation: number;
  readonly gaugeDegreesOfFreedom: number | null;
  /** √(observed² − gauge²). */
  readonly partsStandardDeviation: number;
  /** With the confidence the parts vary no more than this. */
  readonly partsStandardDeviationUpperBound: number;
  /** Part of the observed variance that is the gauge's, 0 … 1. */
  readonly gaugeShare: number;
  readonly pp: PartsIndex | null;
  readonly ppl: PartsIndex | null;
  readonly ppu: PartsIndex | null;
  readonly ppk: PartsIndex;
  /** What the values show without the correction. */
  readonly observedPpk: number;
  readonly resamples: number;
  readonly seed: number;
  readonly message: string;
  readonly verdict: IndexVerdict;
}

/**
 * Indices of the parts when the gauge's share of the variation is known: the gauge adds its variance to that of the
 * parts, so observed indices are too low. Both variances are estimates, and the bounds carry the uncertainty of both.
 *
 * Bounds: generalised interval. Each draw replaces the two variances by νs²/χ² and the mean by x̄ − z·σ/√n and takes
 * the index of what is left; its quantiles are the bounds. Below 0.1 s at 4000 draws; simulated coverage of the lower
 * bound is at the stated confidence within 0.01, or above it (tests/src/capability/performance-of-parts.test.ts).
 *
 * The corrected index describes parts. For the decision on a single part the gauge still counts in full.
 *
 * @param values  n ≥ 10 recorded values of different parts, one unit, normal.
 * @returns       Unavailable `too-few-values`, `no-specification-limit`, and `no-variation` where the gauge explains
 *                all variation; the message then says how much the parts can vary at most.
 * @throws        StatisticsError `empty`, `not-finite`, `out-of-range`, `limits-reversed`, `target-outside`.
 *
 * Source: Weerahandi, Journal of the American Statistical Association 88 (1993) 899-905 (generalised intervals); the
 * correction of the variance: ISO 22514-7 (cited from memory).
 *
 * @example
 * const values = [10.02, 9.97, 10.05, 9.95, 10.01, 9.99, 10.03, 9.96, 10.0, 10.04];
 * const limits = { lowerSpecificationLimit: 9.8, upperSpecificationLimit: 10.2 };
 * performanceOfParts(values, limits, { gaugeStandardDeviation: 0.015, gaugeDegreesOfFreedom: 40 });
 * // available, gaugeShare 0.1917…, observedPpk 1.9267…, ppk.sampleSize 10
 */
export function performanceOfParts(
  values: readonly number[],
  specification: SpecificationLimits,
  options: PerformanceOfPartsOptions,
): Outcome<PerformanceOfParts> {
  const { gaugeStandardDeviation, gaugeDegreesOfFreedom } = options;
  requireFiniteValues(values, 'values');
  requirePositive(gaugeStandardDeviation, 'options.gaugeStandardDeviation');
  if (gaugeDegreesOfFreedom !== null)
    requireBetween(gaugeDegreesOfFreedom, 0.5, 1e9, 'options.gaugeDegreesOfFreedom');
  const { confidence, resamples, seed } = checkedResampling(options, 4000);
  const { requiredIndex, doubts } = checkedVerdict(options);
  const limits = effectiveLimits(specification);
  if ('available' in limits) return limits;
  const n = values.length;
  if (n < 10)
    return {
      available: false,
      reason: 'too-few-values',
      message: `Taking out the gauge needs at least 10 values; there ${n === 1 ? 'is 1' : `are ${n}`}.`,
    };
  const { mean, standardDeviation } = statisticsOf(values, 'values');
  const observed = standardDeviation!;
  const gauge = gaugeStandardDeviation;
  // Everything in observed standard deviations from the mean, so that no square overflows.
  const unit = Math.max(observed, gauge);
  const scaled = (limit: number | null) => (limit === null ? null : (limit - mean!) / unit);
  const bounds = { lower: scaled(limits.lower), upper: scaled(limits.upper) };
  for (const limit of [bounds.lower, bounds.upper])
    if (limit !== null && !(Math.abs(limit) < 1e12))
      throw new StatisticsError(
        'out-of-range',
        'specification',
        specification,
        'The limits lie more than 1e12 standard deviations from the values.',
      );

  const random = randomSource(seed);
  const chiSquare = (freedom: number) => (2 * randomGamma(random, freedom / 2)) / freedom;
  const kinds = ['tolerance', 'lower', 'upper', 'smallest'] as const;
  const draws = kinds.map(() => new Float64Array(resamples));
  const spreads = new Float64Array(resamples);
  for (let resample = 0; resample < resamples; resample++) {
    const total = (observed / unit) ** 2 / chiSquare(n - 1);
    const noise =
      (gauge / unit) ** 2 / (gaugeDegreesOfFreedom === null ? 1 : chiSquare(gaugeDegreesOfFreedom));
    const spread = Math.sqrt(Math.max(0, total - noise));
    const centre = -random.normal() * Math.sqrt(total / n);
    spreads[resample] = spread;
    const indices = normalIndices(centre, spread, bounds);
    // 0/0: the mean exactly on a limit, without any spread.
    kinds.forEach((kind, place) => {
      const index = indices[kind] ?? 0;
      draws[place]![resample] = Number.isNaN(index) ? 0 : index;
    });
  }
  spreads.sort();
  const partsStandardDeviationUpperBound = drawnQuantile(spreads, confidence) * unit;
  const gaugeShare = (gauge / unit) ** 2 / (observed / unit) ** 2;
  if (!(gaugeShare < 1)) return gaugeExplainsAll(confidence, partsStandardDeviationUpperBound);

  const partsSpread = Math.sqrt(1 - gaugeShare);
  const estimates = normalIndices(0, partsSpread, bounds);
  const indices = kinds.map((kind, place): PartsIndex | null => {
    const estimate = estimates[kind];
    if (estimate === null) return null;
    const interval = drawnInterval(draws[place]!, confidence);
    const orNull = (bound: number) => (Number.isFinite(bound) ? bound : null);
    return {
      estimate,
      sampleSize: n,
      method: 'generalised interval',
      confidence,
      lower: interval.lower,
      upper: orNull(interval.upper),
      lowerBound: interval.lowerBound,
      upperBound: orNull(interval.upperBound),
      exact: false,
    };
  });
  const [pp, ppl, ppu, ppk] = indices as [
    PartsIndex | null,
    PartsIndex | null,
    PartsIndex | null,
    PartsIndex,
  ];
  for (const index of [pp, ppl, ppu, ppk])
    if (index !== null && !(Number.isFinite(index.lower) && Number.isFinite(index.lowerBound)))
      return gaugeExplainsAll(confidence, partsStandardDeviationUpperBound);
  const observedPpk = normalIndices(0, 1, bounds).smallest;
  return {
    available: true,
    sampleSize: n,
    mean: mean!,
    observedStandardDeviation: observed,
    gaugeStandardDeviation: gauge,
    gaugeDegreesOfFreedom,
    partsStandardDeviation: partsSpread * observed,
    partsStandardDeviationUpperBound,
    gaugeShare,
    pp,
    ppl,
    ppu,
    ppk,
    observedPpk,
    resamples,
    seed,
    message: `The gauge makes up ${(100 * gaugeShare).toFixed(0)} % of the observed variance; without it Ppk is ${ppk.estimate.toFixed(2)} instead of ${observedPpk.toFixed(2)}. For the decision on a single part the gauge still counts in full.`,
    verdict: indexVerdict('Ppk of the parts', ppk, requiredIndex, doubts),
  };
}

const gaugeExplainsAll = (confidence: number, mostSpread: number): Unavailable => ({
  available: false,
  reason: 'no-variation',
  message: `The gauge alone explains the observed variation, so the parts have no index of their own. ${mostSpread > 0 ? `With ${Number((100 * confidence).toFixed(2))} % confidence their standard deviation is at most ${mostSpread.toPrecision(3)}.` : 'The values even vary less than the gauge is said to: check its standard deviation.'} Measure each part several times and use the mean, or use a better gauge.`,
});

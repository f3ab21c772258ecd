import { requireFraction, requireName } from '../../checks.ts';
import type { Outcome } from '../../errors.ts';
import { chiSquareLowerTail, chiSquareUpperTail } from '../../numerics/chi-square.ts';
import { attributesBasis } from './attributes-chart.ts';
import { type CountDistribution, type CountSample, countDistributions } from './count-sample.ts';
import { standardisedCounts, zStandardDeviationOf } from './laney.ts';

export interface CountDispersionOptions {
  readonly distribution: CountDistribution;
  /** Given proportion nonconforming or nonconformities per unit. Absent: estimated. */
  readonly standard?: number;
  /** Probability of calling counts over- or underdispersed that are neither, in (0, 1). Default 0.05. */
  readonly significance?: number;
}

export interface CountDispersion {
  readonly method: 'index of dispersion';
  /** Samples compared. */
  readonly samples: number;
  /** Σ z², which follows chi-square where the counts vary as the distribution says. */
  readonly statistic: number;
  readonly degreesOfFreedom: number;
  /** statistic/degreesOfFreedom: 1 expected; the variance is that many times the one of the distribution. */
  readonly ratio: number;
  /** Probability of at least this much, and of at most this much variation. */
  readonly overdispersionProbability: number;
  readonly underdispersionProbability: number;
  /** Laney's σ_z from neighbouring samples: what the limits of p′ and u′ are widened by; null without neighbours. */
  readonly zStandardDeviation: number | null;
  readonly verdict: 'overdispersed' | 'underdispersed' | 'as expected';
  /** What was found and what to do next. */
  readonly message: string;
}

/**
 * Do counts vary more (or less) between samples than the binomial or Poisson distribution allows? The limits of p, np, c
 * and u charts rest on it: with more variation they call common causes signals.
 *
 * Index of dispersion: Σ (xᵢ − expected)²/variance against chi-square with m − 1 degrees of freedom (m for a given
 * standard), half of the significance on each side. A few signals in the data also count as overdispersion: look at
 * them first.
 *
 * @param samples  count and size of each sample in time order; null for a missing one.
 * @param options  distribution, standard, significance.
 * @returns        the test with one plain sentence. Unavailable `too-few-values` for fewer than two samples,
 *                 `outside-method` where fewer than one count (or, for parts, one good part) is expected in an average
 *                 sample: chi-square is then no good approximation.
 * @throws         StatisticsError `empty`, `not-finite`, `not-an-integer`, `out-of-range`, `unknown-name`.
 *
 * Source: Cochran, Some methods for strengthening the common χ² tests, Biometrics 10(4), 1954; Fisher, Statistical
 * Methods for Research Workers, index of dispersion; Laney, Quality Engineering 14(4), 2002, for σ_z.
 *
 * @example
 * const counts = [12, 48, 9, 55, 14, 61, 8, 44];
 * countDispersion(counts.map((count) => ({ count, size: 1000 })), { distribution: 'binomial' });
 * // available, verdict "overdispersed", degreesOfFreedom 7, ratio 16.903…
 */
export function countDispersion(
  samples: readonly (CountSample | null)[],
  options: CountDispersionOptions,
): Outcome<CountDispersion> {
  const { distribution, significance = 0.05 } = options;
  requireName(distribution, countDistributions, 'options.distribution');
  requireFraction(significance, 'options.significance');
  const family = { statistic: 'proportion nonconforming', distribution, perUnit: true } as const;
  const basis = attributesBasis(family, samples, options.standard);
  if (!basis.available) return basis;
  const { standard, totalSize } = basis;
  if (basis.samples < 2)
    return {
      available: false,
      reason: 'too-few-values',
      message: 'Variation between samples needs at least two samples.',
    };
  const expected =
    (totalSize / basis.samples) * (distribution === 'binomial' ? Math.min(standard, 1 - standard) : standard);
  const z = expected < 1 ? null : standardisedCounts(family, samples, standard);
  if (z === null)
    return {
      available: false,
      reason: 'outside-method',
      message: `An average sample is expected to hold ${expected.toPrecision(2)} events; the test needs at least 1. Take larger samples, or chart the parts between events.`,
    };
  const statistic = z.reduce<number>((sum, value) => sum + (value ?? 0) ** 2, 0);
  const degreesOfFreedom = basis.samples - (basis.origin === 'estimated' ? 1 : 0);
  const overdispersionProbability = chiSquareUpperTail(statistic, degreesOfFreedom);
  const underdispersionProbability = chiSquareLowerTail(statistic, degreesOfFreedom);
  const verdict =
    overdispersionProbability < significance / 2
      ? 'overdispersed'
      : underdispersionProbability < significance / 2
        ? 'underdispersed'
        : 'as expected';
  const ratio = statistic / degreesOfFreedom;
  return {
    available: true,
    method: 'index of dispersion',
    samples: basis.samples,
    statistic,
    degreesOfFreedom,
    ratio,
    overdispersionProbability,
    underdispersionProbability,
    zStandardDeviation: zStandardDeviationOf(z),
    verdict,
    message: sentence(verdict, ratio, distribution),
  };
}

function sentence(
  verdict: CountDispersion['verdict'],
  ratio: number,
  distribution: CountDistribution,
): string {
  const [law, wide] = distribution === 'binomial' ? ['binomial', 'p′'] : ['Poisson', 'u′'];
  const times = `The counts vary ${ratio.toPrecision(2)} times as much as ${law} counts would`;
  switch (verdict) {
    case 'overdispersed':
      return `${times}: look for causes of single high or low samples first, then use the ${wide} chart, because plain limits would call its common causes signals.`;
    case 'underdispersed':
      return `${times}: check that samples are not sorted, rounded or mixed from several streams, because plain limits are then too wide to signal.`;
    case 'as expected':
      return `${times}, which chance explains: the plain chart fits.`;
  }
}

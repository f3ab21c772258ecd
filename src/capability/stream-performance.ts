import { requireFiniteValues, requirePositive, requireSameLength } from '../checks.ts';
import { type Outcome, StatisticsError } from '../errors.ts';
import { randomSource } from '../numerics/random.ts';
import { randomGamma } from '../numerics/random-gamma.ts';
import { subgroupStatistics } from '../samples/subgroup-statistics.ts';
import type { BoundedIndex } from './bounded-index.ts';
import { boundedNormalIndices } from './bounded-normal-indices.ts';
import { correctedPlace } from './corrected-place.ts';
import { equalMeans, equalSpreads, type GroupMoments } from './equal-groups.ts';
import { checkedVerdict, type IndexVerdict, indexVerdict, type VerdictOptions } from './index-verdict.ts';
import { type MixturePart, mixtureNonconforming, mixturePercentiles } from './mixture-percentiles.ts';
import { type ExpectedNonconforming, expectedNonconforming } from './normal-indices.ts';
import { ordinaryIndices } from './percentile-indices.ts';
import { checkedResampling, drawnInterval, type ResamplingOptions } from './resampling.ts';
import { effectiveLimits, type SpecificationLimits } from './specification.ts';

/** The values of one die, cavity, roll set or weld head. */
export interface Stream {
  readonly name: string;
  /** At least 2, in the unit of the specification. */
  readonly values: readonly number[];
}

export interface StreamPerformanceOptions extends ResamplingOptions, VerdictOptions {
  /** What each stream makes of all parts, in any unit, > 0; default: all the same, whatever was measured. */
  readonly shares?: readonly number[];
}

/** Performance indices with the overall standard deviation; null for a missing limit. */
export interface PerformanceIndices {
  readonly pp: BoundedIndex | null;
  readonly ppl: BoundedIndex | null;
  readonly ppu: BoundedIndex | null;
  readonly ppk: BoundedIndex;
  readonly expectedNonconforming: ExpectedNonconforming;
}

export interface OneStream extends PerformanceIndices {
  readonly name: string;
  readonly sampleSize: number;
  readonly mean: number;
  readonly standardDeviation: number;
  readonly share: number;
}

export interface StreamPerformance {
  readonly sampleSize: number;
  readonly streams: readonly OneStream[];
  /** Stream with the smallest estimated Ppk. */
  readonly worst: string;
  /** Smallest lower bound of all: with the confidence the truly worst stream, whichever it is, has at least this. */
  readonly worstLowerBound: number;
  /** All parts together as they leave the line, by percentiles of the mixture; it never stands for a stream. */
  readonly mixture: PerformanceIndices;
  /** Chance of means (spreads) at least this different if the streams were alike. */
  readonly difference: { readonly meansPValue: number; readonly spreadsPValue: number };
  readonly resamples: number;
  readonly seed: number;
  readonly message: string;
  /** On the worst stream, never on the mixture. */
  readonly verdict: IndexVerdict;
}

/**
 * Performance of a process with several streams (dies, cavities, lanes): each stream by itself, the worst by name, and
 * the mixture that the customer gets. A good mixture can hide a bad die; a difference between good dies widens the
 * mixture. So there is no pooled index alone, and the verdict is on the worst stream.
 *
 * Streams count as normal and stable. Bounds of a stream as for capability (exact with one limit); of the mixture by
 * drawn samples, corrected for bias; about 0.2 s for four streams.
 *
 * @param streams        2 … 100 streams, each with its own name.
 * @param specification  the same for all, at least one limit.
 * @returns              Unavailable `no-specification-limit`, `no-variation` (naming the stream).
 * @throws               StatisticsError `empty`, `too-few-values`, `not-finite`, `out-of-range`, `sizes-differ`,
 *                       `limits-reversed`, `target-outside`, naming the field.
 *
 * Source: ISO 22514-8 (multi-state production process; cited from memory).
 *
 * @example
 * const streams = [
 *   { name: 'die 1', values: [10.01, 9.98, 10.0, 10.02, 9.99, 10.01] },
 *   { name: 'die 2', values: [10.06, 10.04, 10.05, 10.07, 10.03, 10.06] }];
 * streamPerformance(streams, { lowerSpecificationLimit: 9.9, upperSpecificationLimit: 10.1 });
 * // available, worst "die 2", sampleSize 12
 */
export function streamPerformance(
  streams: readonly Stream[],
  specification: SpecificationLimits,
  options: StreamPerformanceOptions = {},
): Outcome<StreamPerformance> {
  const { confidence, resamples, seed } = checkedResampling(options, 1000);
  const { requiredIndex, doubts } = checkedVerdict(options);
  const shares = checkedShares(streams, options.shares);
  const limits = effectiveLimits(specification);
  if ('available' in limits) return limits;
  const magnitude = Math.max(Math.abs(limits.lower ?? 0), Math.abs(limits.upper ?? 0));
  const moments: GroupMoments[] = [];
  for (let place = 0; place < streams.length; place++) {
    const { name, values } = streams[place]!;
    const { size, mean, standardDeviation } = subgroupStatistics(values);
    if (!(standardDeviation! > 1e-12 * Math.max(Math.abs(mean!), magnitude)))
      return {
        available: false,
        reason: 'no-variation',
        message: `Stream ${name}: all values are equal, so an index would have no meaning. Check that the gauge resolves the variation.`,
      };
    moments.push({ size, mean: mean!, standardDeviation: standardDeviation! });
  }
  const each = moments.map(({ size, mean, standardDeviation }, place): OneStream => {
    const sample = {
      sampleSize: size,
      mean,
      standardDeviation,
      degreesOfFreedom: size - 1,
      isChiSquare: true,
    };
    const indices = boundedNormalIndices(sample, limits, confidence);
    return {
      name: streams[place]!.name,
      sampleSize: size,
      mean,
      standardDeviation,
      share: shares[place]!,
      pp: indices.tolerance,
      ppl: indices.lower,
      ppu: indices.upper,
      ppk: indices.smallest,
      expectedNonconforming: expectedNonconforming(mean, standardDeviation, limits),
    };
  });
  const worst = each.reduce((a, b) => (b.ppk.estimate < a.ppk.estimate ? b : a));
  const total = moments.reduce((sum, { size }) => sum + size, 0);
  const parts = each.map(({ mean, standardDeviation, share }) => ({ mean, standardDeviation, share }));
  const estimates = ordinaryIndices(mixturePercentiles(parts), limits);
  const kinds = ['tolerance', 'lower', 'upper', 'smallest'] as const;
  const draws = kinds.map(() => new Float64Array(resamples));
  const random = randomSource(seed);
  for (let resample = 0; resample < resamples; resample++) {
    const drawn = parts.map((part, place): MixturePart => {
      const { size } = moments[place]!;
      const variance = (2 * randomGamma(random, (size - 1) / 2)) / (size - 1);
      return {
        ...part,
        mean: part.mean + (part.standardDeviation * random.normal()) / Math.sqrt(size),
        standardDeviation: part.standardDeviation * Math.sqrt(variance),
      };
    });
    const indices = ordinaryIndices(mixturePercentiles(drawn), limits);
    kinds.forEach((kind, row) => {
      draws[row]![resample] = indices[kind] ?? 0;
    });
  }
  const [pp, ppl, ppu, ppk] = kinds.map((kind, row): BoundedIndex | null => {
    const estimate = estimates[kind];
    if (estimate === null) return null;
    return {
      estimate,
      sampleSize: total,
      method: 'bias-corrected bootstrap',
      ...drawnInterval(draws[row]!, confidence, correctedPlace(draws[row]!.sort(), estimate, 0)),
      exact: false,
    };
  });
  const difference = {
    meansPValue: equalMeans(moments).pValue,
    spreadsPValue: equalSpreads(moments).pValue,
  };
  const small = each.find(({ sampleSize }) => sampleSize < 30);
  if (small !== undefined)
    doubts.push({
      reason: 'too-few',
      sentence: `Stream ${small.name} has ${small.sampleSize} values; below 30 no index is quoted.`,
    });
  return {
    available: true,
    sampleSize: total,
    streams: each,
    worst: worst.name,
    worstLowerBound: Math.min(...each.map(({ ppk: index }) => index.lowerBound)),
    mixture: {
      pp: pp!,
      ppl: ppl!,
      ppu: ppu!,
      ppk: ppk!,
      expectedNonconforming: mixtureNonconforming(parts, limits),
    },
    difference,
    resamples,
    seed,
    message: adviceOn(worst, difference),
    verdict: indexVerdict(`Ppk of the worst stream (${worst.name})`, worst.ppk, requiredIndex, doubts),
  };
}

function checkedShares(streams: readonly Stream[], shares: readonly number[] | undefined): readonly number[] {
  if (streams.length < 2 || streams.length > 100)
    throw new StatisticsError(
      streams.length === 0 ? 'empty' : 'out-of-range',
      'streams',
      streams.length,
      'Give 2 to 100 streams; for a single one use capability.',
    );
  streams.forEach(({ name, values }, place) => {
    requireFiniteValues(values, `streams.${place}.values`, 2);
    if (streams.findIndex((other) => other.name === name) !== place)
      throw new StatisticsError(
        'out-of-range',
        `streams.${place}.name`,
        name,
        'Every stream needs its own name.',
      );
  });
  if (shares === undefined) return streams.map(() => 1 / streams.length);
  requireSameLength(shares.length, streams.length, 'options.shares', 'streams');
  shares.forEach((share, place) => {
    requirePositive(share, `options.shares.${place}`);
  });
  const largest = Math.max(...shares);
  const sum = shares.reduce((all, share) => all + share / largest, 0);
  return shares.map((share) => share / largest / sum);
}

function adviceOn(worst: OneStream, { meansPValue, spreadsPValue }: StreamPerformance['difference']): string {
  const name = `Stream ${worst.name} is the worst, with Ppk ${worst.ppk.estimate.toFixed(2)}.`;
  if (meansPValue < 0.01)
    return `${name} The streams differ in level more than chance explains: set each to the middle before anything else.`;
  if (spreadsPValue < 0.01)
    return `${name} The streams differ in spread more than chance explains: look at what is special about ${worst.name}.`;
  return `${name} The streams do not differ by more than chance: what improves one should improve all.`;
}

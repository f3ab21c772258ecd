import { requireFinite, requireWhole } from '../checks.ts';
import { StatisticsError } from '../errors.ts';
import { requireIndexConfidence } from './index-interval.ts';

/** Of every bound that is found by drawing random samples. */
export interface ResamplingOptions {
  /** Of every interval and bound, 0.5 … 0.9999. Default 0.95. */
  readonly confidence?: number;
  /** Samples drawn; at least 2/(1 − confidence), so that the tails hold some. */
  readonly resamples?: number;
  /** Any finite number; the same seed gives the same bounds. Default 1. */
  readonly seed?: number;
}

export interface Resampling {
  readonly confidence: number;
  readonly resamples: number;
  readonly seed: number;
}

export function checkedResampling(options: ResamplingOptions, defaultResamples: number): Resampling {
  const { confidence = 0.95, resamples = defaultResamples, seed = 1 } = options;
  requireIndexConfidence(confidence, 'options.confidence');
  requireWhole(resamples, 100, 20_000, 'options.resamples');
  requireFinite(seed, 'options.seed');
  const fewest = Math.ceil(2 / (1 - confidence) - 1e-9);
  if (resamples < fewest)
    throw new StatisticsError(
      'out-of-range',
      'options.resamples',
      resamples,
      `A confidence of ${confidence} needs at least ${fewest} resamples.`,
    );
  return { confidence, resamples, seed };
}

/** Quantile of sorted draws, at place p·(count + 1), between neighbours in proportion, and never outside the draws. */
export function drawnQuantile(sorted: Float64Array, probability: number): number {
  const place = Math.min(sorted.length, Math.max(1, probability * (sorted.length + 1)));
  const below = sorted[Math.floor(place) - 1]!;
  const above = sorted[Math.ceil(place) - 1]!;
  // Equal neighbours may both be infinite.
  return below === above ? below : below + (place - Math.floor(place)) * (above - below);
}

/** The four quantiles at which a bound is taken. The draws are sorted in place; `place` corrects the probabilities. */
export function drawnInterval(
  draws: Float64Array,
  confidence: number,
  place: (probability: number) => number = (probability) => probability,
) {
  draws.sort();
  const at = (probability: number) => drawnQuantile(draws, place(probability));
  const half = (1 - confidence) / 2;
  return {
    confidence,
    lower: at(half),
    upper: at(1 - half),
    lowerBound: at(1 - confidence),
    upperBound: at(confidence),
  };
}

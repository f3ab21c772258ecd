import { normalLowerTail, normalQuantile, normalUpperTail } from '../numerics/normal.ts';
import { monotoneRoot } from '../numerics/root.ts';
import type { ExpectedNonconforming } from './normal-indices.ts';
import type { DistributionPercentiles } from './percentile-indices.ts';
import type { EffectiveLimits } from './specification.ts';

/** One normal part of a mixture. */
export interface MixturePart {
  readonly mean: number;
  /** > 0. */
  readonly standardDeviation: number;
  /** Fraction of all parts, the sum being 1. */
  readonly share: number;
}

/** Percentiles of a mixture of normal distributions, by root finding between those of its parts. */
export function mixturePercentiles(parts: readonly MixturePart[]): DistributionPercentiles {
  const z = normalQuantile(0.00135);
  return {
    lowerPercentile: quantile(parts, 0.00135, z, tail.below),
    median: median(parts),
    upperPercentile: quantile(parts, 0.00135, -z, tail.above),
  };
}

/** Fractions of a mixture outside the limits. */
export function mixtureNonconforming(
  parts: readonly MixturePart[],
  limits: EffectiveLimits,
): ExpectedNonconforming {
  const below = limits.lower === null ? null : fraction(parts, limits.lower, tail.below);
  const above = limits.upper === null ? null : fraction(parts, limits.upper, tail.above);
  return { below, above, total: (below ?? 0) + (above ?? 0) };
}

const tail = { below: normalLowerTail, above: normalUpperTail };

function fraction(parts: readonly MixturePart[], x: number, tailOf: (z: number) => number): number {
  let sum = 0;
  for (const { mean, standardDeviation, share } of parts)
    sum += share * tailOf((x - mean) / standardDeviation);
  return sum;
}

/**
 * Where as much lies below as above. Between parts that lie far apart nearly nothing lies, so that only the tails that
 * reach into the gap tell where. They are therefore kept apart from the whole parts on either side, and compared by
 * their logarithms.
 */
function median(parts: readonly MixturePart[]): number {
  const means = parts.map(({ mean }) => mean);
  const [low, high] = [Math.min(...means), Math.max(...means)];
  if (low === high) return low;
  const balance = (x: number) => {
    let whole = 0;
    let below = Number.MIN_VALUE;
    let above = Number.MIN_VALUE;
    for (const { mean, standardDeviation, share } of parts) {
      const tail = share * normalUpperTail(Math.abs(x - mean) / standardDeviation);
      whole += mean < x ? share : -share;
      if (mean < x) above += tail;
      else below += tail;
    }
    // Shares are rounded: half of the parts on either side is exactly half.
    if (whole > 1e-14) below += whole / 2;
    if (whole < -1e-14) above -= whole / 2;
    return Math.log(below) - Math.log(above);
  };
  return monotoneRoot(balance, low, high) ?? (low + high) / 2;
}

/** x beyond which the fraction lies; `z` is where it would be in each part alone. */
function quantile(
  parts: readonly MixturePart[],
  probability: number,
  z: number,
  tailOf: (z: number) => number,
): number {
  let low = Infinity;
  let high = -Infinity;
  for (const { mean, standardDeviation } of parts) {
    low = Math.min(low, mean + z * standardDeviation);
    high = Math.max(high, mean + z * standardDeviation);
  }
  if (low === high) return low;
  return (
    monotoneRoot((x) => Math.log(fraction(parts, x, tailOf) / probability), low, high) ?? (low + high) / 2
  );
}

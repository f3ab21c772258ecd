import type { HourCell } from './nested-readings.ts';
import { type LikelihoodPoint, restrictedLikelihood, type VarianceRatios } from './restricted-likelihood.ts';

export interface LikelihoodMaximum {
  readonly ratios: VarianceRatios;
  readonly point: LikelihoodPoint;
}

/** Which of the two ratios are free; the other ones are held at 0. */
export type FreeRatios = readonly [coil: boolean, hour: boolean];

/** Powers of ten at which the search begins: variance ratios of real processes lie far inside. */
const startingPowers = [-3, -2, -1, 0, 1, 2, 3, 4, 5, 6, 7, 8];
/** A logarithm below this is a ratio of 0: what it changes is lost in the rounding of the likelihood. */
const smallestLog = -40;
const largestLog = 70;
const steps = 200;
/** Two deviances closer than this are the same in the rounding of their sums. */
const rounding = 1e-10;

/** The slope by a ratio is a sum over readings; this share of each may be rounding. */
const slopeRounding = 1e-10;

/**
 * Largest restricted likelihood over non-negative variances: the best of the interior and of its edges, each found by
 * damped Newton steps on the logarithms of the free ratios; of equals the one with fewer components.
 *
 * @returns null where no search settles.
 */
export function maximiseRestrictedLikelihood(
  coils: readonly (readonly HourCell[])[],
  readings: number,
  faces: readonly FreeRatios[],
): LikelihoodMaximum | null {
  let best: LikelihoodMaximum | null = null;
  for (const face of faces) {
    const found = onFace((ratios) => restrictedLikelihood(coils, readings, ratios), face);
    if (found === null || leadsInside(found.point.slope, face, faces, readings)) continue;
    if (best === null || found.point.deviance < best.point.deviance - rounding) best = found;
  }
  return best;
}

/** Whether the likelihood still grows as a ratio held at 0 becomes positive: then the maximum lies inside. */
function leadsInside(
  slope: VarianceRatios,
  face: FreeRatios,
  faces: readonly FreeRatios[],
  readings: number,
): boolean {
  return [0, 1].some(
    (ratio) =>
      !face[ratio] && faces.some((other) => other[ratio]) && slope[ratio]! < -slopeRounding * readings,
  );
}

function onFace(
  at: (ratios: VarianceRatios) => LikelihoodPoint,
  [coilFree, hourFree]: FreeRatios,
): LikelihoodMaximum | null {
  const ratiosOf = (logs: VarianceRatios): VarianceRatios => [
    coilFree ? Math.exp(logs[0]) : 0,
    hourFree ? Math.exp(logs[1]) : 0,
  ];
  const deviance = (logs: VarianceRatios) => at(ratiosOf(logs)).deviance;
  /** Slope by the logarithms; a held ratio has none. */
  const slope = (logs: VarianceRatios): VarianceRatios => {
    const ratios = ratiosOf(logs);
    const { slope: byRatio } = at(ratios);
    return [byRatio[0] * ratios[0], byRatio[1] * ratios[1]];
  };

  let logs = bestStart(deviance, coilFree, hourFree);
  let value = deviance(logs);
  for (let step = 0; step < steps; step++) {
    const move = newtonMove(slope, logs, coilFree, hourFree);
    let next: VarianceRatios = logs;
    let nextValue = value;
    for (let part = 1; part > 1e-6; part /= 2) {
      next = [within(logs[0] + part * move[0]), within(logs[1] + part * move[1])];
      nextValue = deviance(next);
      if (nextValue <= value + rounding / 100) break;
    }
    if (!(nextValue <= value + rounding / 100)) next = logs;
    const moved = Math.max(Math.abs(next[0] - logs[0]), Math.abs(next[1] - logs[1]));
    logs = next;
    value = Math.min(value, nextValue);
    if (moved < 1e-9) {
      const ratios = ratiosOf(logs);
      return Math.max(...logs) >= largestLog ? null : { ratios, point: at(ratios) };
    }
  }
  return null;
}

function within(log: number): number {
  return Math.min(largestLog, Math.max(smallestLog, log));
}

function bestStart(
  deviance: (logs: VarianceRatios) => number,
  coilFree: boolean,
  hourFree: boolean,
): VarianceRatios {
  let best: VarianceRatios = [0, 0];
  let least = Infinity;
  const starts = (free: boolean) => (free ? startingPowers : [0]);
  for (const coil of starts(coilFree))
    for (const hour of starts(hourFree)) {
      const logs: VarianceRatios = [coil * Math.LN10, hour * Math.LN10];
      const value = deviance(logs);
      if (value >= least) continue;
      least = value;
      best = logs;
    }
  return best;
}

/** Newton's step, turned downhill where the deviance bends the wrong way; never more than 2 on a logarithm. */
function newtonMove(
  slope: (logs: VarianceRatios) => VarianceRatios,
  logs: VarianceRatios,
  coilFree: boolean,
  hourFree: boolean,
): VarianceRatios {
  const [a, b] = slope(logs);
  const h = 1e-4;
  const difference = (dCoil: number, dHour: number): VarianceRatios => {
    const up = slope([logs[0] + dCoil, logs[1] + dHour]);
    const down = slope([logs[0] - dCoil, logs[1] - dHour]);
    return [(up[0] - down[0]) / (2 * h), (up[1] - down[1]) / (2 * h)];
  };
  const [aa, abFirst] = coilFree ? difference(h, 0) : [1, 0];
  const [abSecond, bb] = hourFree ? difference(0, h) : [0, 1];
  const ab = (abFirst + abSecond) / 2;
  // Along each principal direction of the curvature its size counts: downhill even where it bends the wrong way.
  const middle = (aa + bb) / 2;
  const half = Math.hypot((aa - bb) / 2, ab);
  const angle = Math.atan2(2 * ab, aa - bb) / 2;
  const [cosine, sine] = [Math.cos(angle), Math.sin(angle)];
  const first = -(cosine * a + sine * b) / Math.max(1e-9, Math.abs(middle + half));
  const second = -(cosine * b - sine * a) / Math.max(1e-9, Math.abs(middle - half));
  const move: VarianceRatios = [first * cosine - second * sine, first * sine + second * cosine];
  const longest = Math.max(Math.abs(move[0]), Math.abs(move[1]), 2);
  return [(move[0] * 2) / longest, (move[1] * 2) / longest];
}

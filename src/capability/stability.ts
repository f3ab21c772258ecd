import { requireBetween, requireFinite } from '../checks.ts';
import { normalUpperTail } from '../numerics/normal.ts';
import { poissonUpperTail } from '../numerics/poisson.ts';

/** What the control chart showed over the same readings. */
export interface Stability {
  /** Points that were judged against control limits. */
  readonly points: number;
  /** Signals at them that no recorded cause explains. */
  readonly signals: number;
  /** Signals that the rules in use would give on so many points with nothing wrong. */
  readonly expectedFalseSignals: number;
  /**
   * Distance of the farthest point from its center line, in standard deviations of the plotted statistic. One
   * point may lie farther out than chance can place it, though chance explains the number of signals. Default 0.
   */
  readonly farthestDeviation?: number;
}

/** Why an index may not be taken for what the process will do. */
export interface Doubt<Reason extends string = string> {
  readonly reason: Reason;
  readonly sentence: string;
}

/**
 * Why nobody may call the process stable; null where the chart shows that it is.
 *
 * @param stability     what the chart showed; null: not assessed.
 * @param fewestPoints  charted points below which stability counts as not shown.
 * @param significance  signals rarer than this by chance are not taken for chance.
 */
export function stabilityDoubt(
  stability: Stability | null,
  fewestPoints = 20,
  significance = 0.01,
): Doubt<'unstable' | 'stability-unknown'> | null {
  if (stability === null)
    return {
      reason: 'stability-unknown',
      sentence: 'No control limits are in force, so nobody knows whether the process is stable.',
    };
  const { points, signals, expectedFalseSignals, farthestDeviation = 0 } = stability;
  if (points < fewestPoints)
    return {
      reason: 'stability-unknown',
      sentence: `Only ${points} of at least ${fewestPoints} points are charted, too few to call the process stable.`,
    };
  if (poissonUpperTail(signals, expectedFalseSignals) < significance)
    return {
      reason: 'unstable',
      sentence: `The process is not stable: ${signals} signals on ${points} points, where chance explains about ${expectedFalseSignals.toFixed(1)}.`,
    };
  if (chanceOfSoFar(points, farthestDeviation) < significance)
    return {
      reason: 'unstable',
      sentence: `The process is not stable: a point lies ${farthestDeviation.toFixed(1)} standard deviations from its center line, farther than chance places one of ${points} points.`,
    };
  return null;
}

/** Counts and deviations of a stability: finite, none negative, none beyond a thousand million. */
export function requireStability(stability: Stability | null, argument: string): void {
  if (stability === null) return;
  const { points, signals, expectedFalseSignals, farthestDeviation = 0 } = stability;
  for (const [name, value] of Object.entries({ points, signals, expectedFalseSignals }))
    requireBetween(value, 0, 1e9, `${argument}.${name}`);
  requireFinite(farthestDeviation, `${argument}.farthestDeviation`);
  requireBetween(farthestDeviation, 0, Number.MAX_VALUE, `${argument}.farthestDeviation`);
}

/** P(the farthest of so many independent normal points lies at least this far out). */
const chanceOfSoFar = (points: number, farthestDeviation: number): number =>
  -Math.expm1(points * Math.log1p(-2 * normalUpperTail(farthestDeviation)));

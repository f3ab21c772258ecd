import { requireFinite, requireFraction, requireName } from '../checks.ts';
import { StatisticsError } from '../errors.ts';
import { studentTQuantile } from '../numerics/student-t.ts';
import type { WearLine } from './wear-line.ts';

export interface WearCrossingOptions {
  /** The value that must not be passed: a specification limit, or an earlier point of action. */
  readonly limit: number;
  /** Which side must not be passed. Default: a fresh tool (0 hits) is taken to make parts on the good side. */
  readonly side?: 'upper' | 'lower';
  /** Confidence of both sets, between 0 and 1. Default 0.95. */
  readonly confidence?: number;
}

/** A range of hits since the last regrind. */
export interface HitsInterval {
  readonly lower: number;
  readonly upper: number;
}

/** When the tool in use brings the value to the limit, in hits since its last regrind. */
export interface WearCrossing {
  readonly tool: number;
  readonly limit: number;
  readonly side: 'upper' | 'lower';
  readonly confidence: number;
  /** Where the fitted line meets the limit; null for a level line. */
  readonly crossing: number | null;
  /** Crossing less the hits at the last sample; negative once it is passed. */
  readonly hitsRemaining: number | null;
  /** t²s²/(slope²·Sxx): from 1 on the slope is not told apart from 0 and no set exists. */
  readonly g: number | null;
  /** Where the mean line may meet the limit (Fieller); null where g ≥ 1. */
  readonly meanCrossing: HitsInterval | null;
  /** Where a single value may meet it: its two-sided prediction interval covers the limit; null where g ≥ 1. */
  readonly individualCrossing: HitsInterval | null;
  /** `no-wear-shown`: the slope is not significant; `moves-away`: the wear leads away from the limit. */
  readonly outlook: 'ahead' | 'passed' | 'no-wear-shown' | 'moves-away';
  /** What to do next, and why, in one sentence. */
  readonly message: string;
}

/**
 * How many hits until the tool in use reaches the limit, with the interval that the scatter allows.
 *
 * @param line     from wearLine.
 * @param options  limit, in the unit of the values, its side, and confidence.
 * @returns        crossing with Fieller's set for the mean line, {x : (limit − a − b x)² ≤ t²s²(1/n + (x − x̄)²/Sxx)}, and
 *                 the same with 1 + 1/n for a single value; t at (1 + confidence)/2 with the line's degrees of freedom,
 *                 n and x̄ of the tool in use, Sxx over all cycles. The outlook names why there is no crossing.
 * @throws         StatisticsError `not-finite`, `unknown-name` (side), `out-of-range` (confidence; a limit or line too far off to compute).
 *
 * Source: Fieller, Journal of the Royal Statistical Society B 16, 1954; Draper and Smith, Applied Regression Analysis,
 * section 3.2 (inverse estimation).
 *
 * @example
 * const line = wearLine([
 *   { hits: 0, value: 5.0, tool: 0 }, { hits: 100, value: 5.3, tool: 0 }, { hits: 200, value: 5.3, tool: 0 },
 *   { hits: 300, value: 5.5, tool: 0 }, { hits: 400, value: 5.7, tool: 0 },
 * ]);
 * wearCrossing(line, { limit: 6 });
 * // outlook "ahead", crossing 599.99…, individualCrossing.lower 413.16…
 */
export function wearCrossing(line: WearLine, options: WearCrossingOptions): WearCrossing {
  const { limit, confidence = 0.95 } = options;
  requireFinite(limit, 'options.limit');
  requireFraction(confidence, 'options.confidence');
  if (options.side !== undefined) requireName(options.side, ['upper', 'lower'], 'options.side');
  const { slope, residualStandardDeviation, withinSumOfSquares, degreesOfFreedom, currentTool } = line;
  const cycle = line.cycles.find(({ tool }) => tool === currentTool);
  if (cycle === undefined)
    throw new StatisticsError(
      'out-of-range',
      'line.currentTool',
      currentTool,
      'It must be one of the cycles of the line.',
    );
  const { samples, meanHits, meanValue, intercept, lastHits } = cycle;
  const t = studentTQuantile((1 + confidence) / 2, degreesOfFreedom);
  const slopeMargin = (t * residualStandardDeviation) / Math.sqrt(withinSumOfSquares);
  const g = slope === 0 ? null : (slopeMargin / slope) ** 2;
  const crossing = slope === 0 ? null : (limit - intercept) / slope;
  const significant = g !== null && g < 1;

  /** Both ends of the set for a variance of `share`·s² at the mean of the hits, by the quadratic in x − x̄. */
  const setFor = (share: number): HitsInterval | null => {
    if (!significant) return null;
    const distance = (limit - meanValue) / slope;
    const half =
      ((t * residualStandardDeviation) / Math.abs(slope)) *
      Math.sqrt((distance * distance) / withinSumOfSquares + share * (1 - g));
    return {
      lower: requireComputed(meanHits + (distance - half) / (1 - g)),
      upper: requireComputed(meanHits + (distance + half) / (1 - g)),
    };
  };
  const meanCrossing = setFor(1 / samples);
  const individualCrossing = setFor(1 + 1 / samples);
  const side = options.side ?? (intercept < limit ? 'upper' : 'lower');
  const sign = side === 'upper' ? 1 : -1;
  const passed = sign * (intercept + slope * lastHits - limit) >= 0;
  const outlook = passed
    ? 'passed'
    : !significant
      ? 'no-wear-shown'
      : sign * slope > 0
        ? 'ahead'
        : 'moves-away';
  return {
    tool: currentTool,
    limit,
    side,
    confidence,
    crossing: crossing === null ? null : requireComputed(crossing),
    hitsRemaining: crossing === null ? null : requireComputed(crossing - lastHits),
    g: g === null ? null : requireComputed(g),
    meanCrossing,
    individualCrossing,
    outlook,
    message: sentence(outlook, crossing, lastHits, individualCrossing, confidence),
  };
}

function requireComputed(value: number): number {
  if (Number.isFinite(value)) return value;
  throw new StatisticsError(
    'out-of-range',
    'options.limit',
    value,
    'The crossing lies too far off to compute. Check the limit and the units.',
  );
}

function sentence(
  outlook: WearCrossing['outlook'],
  crossing: number | null,
  lastHits: number,
  individual: HitsInterval | null,
  confidence: number,
): string {
  switch (outlook) {
    case 'ahead': {
      const earliest = Math.floor(individual!.lower);
      const left = Math.floor(crossing! - lastHits);
      return earliest <= lastHits
        ? `The line meets the limit in about ${left} hits, but single values may pass it already: tighten sampling and plan the regrind now.`
        : `The line meets the limit in about ${left} hits; plan the regrind before ${earliest} hits since the last one, from where on single values may pass the limit (${Number((100 * confidence).toPrecision(6))} % interval).`;
    }
    case 'passed':
      return 'The line has met the limit already: check the parts made since, and have an authorised person decide on the regrind.';
    case 'no-wear-shown':
      return 'No wear is shown: the slope is not told apart from zero, so no crossing can be forecast; go on measuring.';
    case 'moves-away':
      return 'The wear leads away from this limit, so the line does not cross it: watch the limit on the other side.';
  }
}

import { studentTLowerTail, studentTQuantile, studentTUpperTail } from '../numerics/student-t.ts';

/** What is asked: is it different, larger ('upper') or smaller ('lower')? */
export type TestSide = 'two-sided' | 'upper' | 'lower';
export const testSides: readonly TestSide[] = ['two-sided', 'upper', 'lower'];

export interface SideVerdict {
  /** Beyond it (below it for 'lower', in size for 'two-sided') the difference is significant. */
  readonly criticalValue: number;
  readonly pValue: number;
  readonly significant: boolean;
}

/** Verdict on a statistic with a t distribution. */
export function studentVerdict(
  statistic: number,
  degreesOfFreedom: number,
  side: TestSide,
  confidence: number,
): SideVerdict {
  const outside = (1 - confidence) / (side === 'two-sided' ? 2 : 1);
  const quantile = -studentTQuantile(outside, degreesOfFreedom);
  const pValue =
    side === 'two-sided'
      ? 2 * studentTUpperTail(Math.abs(statistic), degreesOfFreedom)
      : side === 'upper'
        ? studentTUpperTail(statistic, degreesOfFreedom)
        : studentTLowerTail(statistic, degreesOfFreedom);
  return {
    criticalValue: side === 'lower' ? -quantile : quantile,
    pValue,
    significant: pValue < 1 - confidence,
  };
}

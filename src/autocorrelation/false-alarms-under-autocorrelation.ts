import { requireBetween, requirePositive } from '../checks.ts';
import { solveLinear } from '../numerics/matrix.ts';
import { normalUpperTail } from '../numerics/normal.ts';
import { gaussLegendreRule } from '../numerics/quadrature.ts';

export interface FalseAlarmsUnderAutocorrelation {
  /** Standard deviation that moving ranges suggest, over the true one: √(1 − φ). */
  readonly standardDeviationRatio: number;
  /** Share of points of a stable process outside the limits. */
  readonly falseAlarmRate: number;
  /** The same share for independent values: what the user expects. */
  readonly independentFalseAlarmRate: number;
  /** Points until a false alarm, on average; null above 10¹². */
  readonly averageRunLength: number | null;
}

/**
 * How wrong the ordinary chart of individuals is when values remember each other: limits from the average moving range,
 * process xₜ = mean + φ(xₜ₋₁ − mean) + noise, stable.
 *
 * A moving range compares neighbours, whose difference has the variance 2(1 − φ) times that of single values; the limits
 * therefore stand at √(1 − φ) times their right distance. The average run length solves L(x) = 1 + ∫ L(y) f(y | x) dy
 * over the values inside the limits on Gauss-Legendre nodes (to 8 digits); false alarms come in groups, so that it is
 * longer than one over the rate. It holds for limits from a long baseline.
 *
 * @param coefficient  φ, the lag-1 correlation of the process, −0.99 … 0.99.
 * @param options      multiple, standard deviations between center line and limit, above 0, at most 6. Default 3.
 * @returns            rates and average run length, dimensionless.
 * @throws             StatisticsError `out-of-range`, `not-finite`.
 *
 * Source: ISO 7870-9; Montgomery, Introduction to Statistical Quality Control, section 10.4; integral equation after
 * Crowder, Technometrics 29(4), 1987, with the transition of this process.
 *
 * @example
 * falseAlarmsUnderAutocorrelation(0.5);
 * // standardDeviationRatio 0.7071…, falseAlarmRate 0.0338…, independentFalseAlarmRate 0.0026…
 */
export function falseAlarmsUnderAutocorrelation(
  coefficient: number,
  options: { readonly multiple?: number } = {},
): FalseAlarmsUnderAutocorrelation {
  const { multiple = 3 } = options;
  requireBetween(coefficient, -0.99, 0.99, 'coefficient');
  requirePositive(multiple, 'options.multiple');
  requireBetween(multiple, 0, 6, 'options.multiple');
  return {
    ...falseAlarmRates(coefficient, multiple),
    averageRunLength: averageRunLength(coefficient, multiple * Math.sqrt(1 - coefficient)),
  };
}

/** The closed part, for any coefficient from −1 to 1. */
export function falseAlarmRates(coefficient: number, multiple: number) {
  const standardDeviationRatio = Math.sqrt(1 - coefficient);
  return {
    standardDeviationRatio,
    falseAlarmRate: 2 * normalUpperTail(multiple * standardDeviationRatio),
    independentFalseAlarmRate: 2 * normalUpperTail(multiple),
  };
}

/** Points until one lies outside ±limit, in standard deviations of the process, from a start at random. */
function averageRunLength(coefficient: number, limit: number): number | null {
  const spread = Math.sqrt(1 - coefficient * coefficient);
  const { nodes, weights } = gaussLegendreRule(24 + Math.ceil((4 * limit) / spread), -limit, limit);
  const density = (from: number, to: number) => gaussian((to - coefficient * from) / spread) / spread;
  const lengths = solveLinear(
    nodes.map((from, i) => nodes.map((to, j) => (i === j ? 1 : 0) - weights[j]! * density(from, to))),
    nodes.map(() => [1]),
  );
  if (lengths === null) return null;
  const length = nodes.reduce((sum, x, j) => sum + weights[j]! * gaussian(x) * lengths[j]![0]!, 1);
  return length >= 1 && length <= 1e12 ? length : null;
}

function gaussian(z: number): number {
  return Math.exp((-z * z) / 2) / Math.sqrt(2 * Math.PI);
}

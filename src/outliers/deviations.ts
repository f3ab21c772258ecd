import { requireFiniteValues } from '../checks.ts';
import type { Outcome } from '../errors.ts';
import { statisticsOf } from '../samples/subgroup-statistics.ts';

export interface Deviations {
  readonly mean: number;
  readonly standardDeviation: number;
  /** Each reading's distance from the mean in standard deviations. */
  readonly deviations: readonly number[];
}

/** Distances of at least three readings from their mean, in standard deviations. */
export function deviationsOf(values: readonly number[]): Outcome<Deviations> {
  requireFiniteValues(values, 'values', 3);
  const { mean, standardDeviation } = statisticsOf(values, 'values');
  if (standardDeviation! > 0) {
    const deviations = values.map((value) => (value - mean!) / standardDeviation!);
    return { available: true, mean: mean!, standardDeviation: standardDeviation!, deviations };
  }
  return {
    available: false,
    reason: 'no-variation',
    message: 'The readings show no variation, so none stands out. Check that the gauge resolves it.',
  };
}

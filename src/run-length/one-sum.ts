import { normalUpperTail } from '../numerics/normal.ts';
import { gaussLegendreRule } from '../numerics/quadrature.ts';
import type { DenseChain, FirstSample } from './dense-walk.ts';

/** The chain of one cumulative sum: the atom at zero, and the nodes up to the decision interval. */
export interface OneSum extends DenseChain {
  from(value: number): FirstSample;
  /** Place of each node; the atom at zero comes first. */
  readonly places: Float64Array;
  readonly weights: Float64Array;
}

/** Chain of one upper sum of values with this mean and standard deviation. */
export function oneSum(
  referenceValue: number,
  decisionInterval: number,
  centre: number,
  ratio: number,
): OneSum {
  const drift = centre - referenceValue;
  const count = Math.ceil(16 + 3.2 * (decisionInterval / ratio));
  const { nodes, weights: rule } = gaussLegendreRule(count, 0, decisionInterval);
  const size = count + 1;
  const places = new Float64Array([0, ...nodes]);
  const weights = new Float64Array([0, ...rule]);
  const height = 1 / (ratio * Math.sqrt(2 * Math.PI));
  // The likeliest way to a rare signal takes steps of 2k; nine deviations beyond them a share is below the last digit.
  const farthest = 9 + Math.max(0, (2 * Math.abs(drift)) / ratio);
  const fill = (from: number, target: Float64Array, stride: number, offset: number) => {
    // Everything that would fall below zero is held there.
    target[offset] = normalUpperTail((drift + from) / ratio);
    for (let node = 1; node < size; node++) {
      const z = (places[node]! - from - drift) / ratio;
      if (z < farthest && z > -farthest)
        target[offset + node * stride] = weights[node]! * height * Math.exp((-z * z) / 2);
    }
    return normalUpperTail((decisionInterval - from - drift) / ratio);
  };
  const transition = new Float64Array(size * size);
  const exit = new Float64Array(size);
  for (let from = 0; from < size; from++) exit[from] = fill(places[from]!, transition, size, from);
  return {
    size,
    transition,
    exit,
    places,
    weights,
    from: (value) => {
      const masses = new Float64Array(size);
      return { exit: fill(value, masses, 1, 0), masses };
    },
  };
}

import {
  neverSignals,
  type RunLengthMethod,
  type RunLengthOutcome,
  type RunLengthQuantile,
} from './run-length.ts';

/** One sample further: of the charts that have not signalled before, the share that signals at this sample. */
export type Walk = () => number;

/** Hazards of successive samples: those listed, and the last of them for ever after. */
export interface Hazards {
  readonly values: readonly number[];
  /** 0 where the chart never signals from there on. */
  readonly settled: number;
}

/** How often is looked whether the hazard has settled. */
const samplesBetweenLooks = 8;
const mostSteps = 50_000;
/** A chart that signals less often than this never does. */
const least = 1e-90;

/**
 * Follows a chart until the share that signals no longer changes: from there on its run length is geometric, so that
 * nothing is cut off however long it runs. Where the share is seen to near its end geometrically, the last part of
 * the way is taken by that rule instead of sample by sample.
 *
 * @param memory      samples that the chart looks back on: before they are taken, nothing counts as settled.
 * @param change      relative change of the hazard that still counts as the same.
 * @param negligible  share of charts still running that no longer matters.
 * @returns           null where the hazard has not settled after many thousand samples.
 */
export function hazardsOf(walk: Walk, memory: number, change = 1e-12, negligible = 1e-30): Hazards | null {
  const values: number[] = [];
  let running = 1;
  for (let step = 1; step <= mostSteps; step++) {
    const hazard = Math.min(1, walk());
    values.push(hazard);
    running *= 1 - hazard;
    if (running < negligible) return { values, settled: hazard };
    if (step % samplesBetweenLooks > 0 || step <= 2 * memory) continue;
    const rest = restOf(values, change);
    if (rest !== null) return followed(values, rest, change);
  }
  return null;
}

/** Walks until the hazard stays the same, for what the chart then remembers. */
export function settle(walk: Walk, memory: number, change = 1e-12): void {
  const values: number[] = [];
  for (let step = 1; step <= mostSteps; step++) {
    values.push(walk());
    if (step % samplesBetweenLooks > 0 || step <= 2 * memory) continue;
    if (restOf(values, change)?.distance === 0) return;
  }
}

/** How far the hazard still has to go, and the share of that which is left after one more sample. */
interface Rest {
  readonly distance: number;
  readonly ratio: number;
}

/**
 * Four hazards, an eighth of all samples apart: either they are the same, or the rest of the way is geometric, which
 * shows in equal ratios of the steps between them. null while the rest is not known to a tenth of `change`.
 */
function restOf(values: readonly number[], change: number): Rest | null {
  const last = values.length - 1;
  const window = last >> 3;
  if (window < 3) return null;
  const at = (back: number) => values[last - back * window]!;
  const [a, b, c, d] = [at(3), at(2), at(1), at(0)];
  if (Math.max(Math.abs(a - d), Math.abs(b - d), Math.abs(c - d)) <= change * d)
    return { distance: 0, ratio: 0 };
  const ratio = (d - c) / (c - b);
  // Above this the window sees too little of the way.
  if (!(ratio > 0 && ratio < 0.9)) return null;
  const error = (Math.abs(ratio - (c - b) / (b - a)) * Math.abs(d - c)) / (1 - ratio) ** 2;
  if (!(error <= 0.1 * change * d)) return null;
  return { distance: ((d - c) * ratio) / (1 - ratio), ratio: ratio ** (1 / window) };
}

/** The hazards with the rest of their way, as far as it still changes something. */
function followed(values: number[], { distance, ratio }: Rest, change: number): Hazards {
  const settled = values.at(-1)! + distance;
  for (let left = distance * ratio; Math.abs(left) > 0.1 * change * settled; left *= ratio)
    values.push(settled - left);
  return { values, settled };
}

/** Mean and variance of a run length. */
export interface Moments {
  readonly mean: number;
  readonly variance: number;
}

/** From sums over the survival function: E N = Σ P(N > t), E N² = Σ (2t + 1) P(N > t); null where it never signals. */
export function momentsOf({ values, settled }: Hazards): Moments | null {
  let running = 1;
  let sum = 0;
  let weightedSum = 0;
  for (let t = 0; t < values.length; t++) {
    sum += running;
    weightedSum += t * running;
    running *= 1 - values[t]!;
  }
  if (running > 0) {
    if (settled < least) return null;
    const tail = running / settled;
    sum += tail;
    weightedSum += tail * (values.length + (1 - settled) / settled);
  }
  return { mean: sum, variance: Math.max(0, 2 * weightedSum + sum - sum * sum) };
}

/** Fewest samples within which the chart signals with each probability. */
function quantilesOf(hazards: Hazards, probabilities: readonly number[]): RunLengthQuantile[] {
  const { values, settled } = hazards;
  const running = [1];
  for (const hazard of values) running.push(running.at(-1)! * (1 - hazard));
  const last = running.at(-1)!;
  return probabilities.map((probability) => {
    const left = 1 - probability;
    if (last > left) {
      const further = Math.ceil(Math.log(left / last) / Math.log1p(-settled));
      return { probability, samples: values.length + Math.max(1, further) };
    }
    let low = 0;
    let high = values.length;
    while (high - low > 1) {
      const middle = (low + high) >> 1;
      if (running[middle]! <= left) high = middle;
      else low = middle;
    }
    return { probability, samples: high };
  });
}

/** Mean, standard deviation and quantiles from the hazards. */
export function runLengthOf(
  hazards: Hazards | null,
  probabilities: readonly number[],
  method: RunLengthMethod,
  moments = hazards === null ? null : momentsOf(hazards),
): RunLengthOutcome {
  if (hazards === null || moments === null) return neverSignals;
  return {
    available: true,
    method,
    averageRunLength: moments.mean,
    standardDeviation: Math.sqrt(moments.variance),
    median: quantilesOf(hazards, [0.5])[0]!.samples,
    quantiles: quantilesOf(hazards, probabilities),
  };
}

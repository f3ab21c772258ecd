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

/** For so many samples in a row the hazard has to stay the same to count as settled. */
const unchanged = 8;
const mostSteps = 50_000;
/** A chart that signals less often than this never does. */
const least = 1e-90;
/** Share of charts still running that no longer matters. */
const negligible = 1e-30;

/**
 * Follows a chart until the share that signals no longer changes: from there on its run length is geometric, so that
 * nothing is cut off however long it runs.
 *
 * @param memory  samples that the chart looks back on: before they are taken, nothing counts as settled.
 * @param change  relative change of the hazard that still counts as the same.
 * @returns       null where the hazard has not settled after many thousand samples.
 */
export function hazardsOf(walk: Walk, memory: number, change = 1e-12): Hazards | null {
  const values: number[] = [];
  let running = 1;
  let quiet = 0;
  let before = -1;
  for (let step = 0; step < mostSteps; step++) {
    const hazard = Math.min(1, walk());
    values.push(hazard);
    running *= 1 - hazard;
    if (running < negligible) return { values, settled: 1 };
    quiet = Math.abs(hazard - before) <= change * hazard ? quiet + 1 : 0;
    before = hazard;
    if (quiet >= unchanged && step >= 2 * memory) return { values, settled: hazard };
  }
  return null;
}

interface Moments {
  /** Σ P(N > t) over t ≥ 0: the mean. */
  readonly sum: number;
  /** Σ t P(N > t). */
  readonly weightedSum: number;
}

/** Sums over the survival function; null where the chart never signals. */
function momentsOf({ values, settled }: Hazards): Moments | null {
  let running = 1;
  let sum = 0;
  let weightedSum = 0;
  for (let t = 0; t < values.length; t++) {
    sum += running;
    weightedSum += t * running;
    running *= 1 - values[t]!;
  }
  if (running === 0) return { sum, weightedSum };
  if (settled < least) return null;
  const tail = running / settled;
  return {
    sum: sum + tail,
    weightedSum: weightedSum + tail * (values.length + (1 - settled) / settled),
  };
}

/** Standard deviation from those sums: E N² = Σ (2t + 1) P(N > t). */
function standardDeviationOf({ sum, weightedSum }: Moments): number {
  return Math.sqrt(Math.max(0, 2 * weightedSum + sum - sum * sum));
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
): RunLengthOutcome {
  const moments = hazards === null ? null : momentsOf(hazards);
  if (hazards === null || moments === null) return neverSignals;
  return {
    available: true,
    method,
    averageRunLength: moments.sum,
    standardDeviation: standardDeviationOf(moments),
    median: quantilesOf(hazards, [0.5])[0]!.samples,
    quantiles: quantilesOf(hazards, probabilities),
  };
}

import { requireBetween, requireWhole } from '../../checks.ts';
import { solveLinear } from '../../numerics/matrix.ts';

export interface LaneRunLengthOptions {
  /** Samples in a row after which the same lane at the same edge is a signal, 2 … 60. Default: found from the next one. */
  readonly runLength?: number;
  /** Wanted average number of samples between false signals on one side, 1 … 10⁹. Default 370. */
  readonly averageRunLength?: number;
}

/** What the rule "the same lane is extreme r times in a row" costs while all lanes are alike. */
export interface LaneRunLength {
  readonly lanes: number;
  /** r: samples in a row. */
  readonly runLength: number;
  /** That a lane which is extreme once stays so for r samples: lanes^−(r − 1). */
  readonly probability: number;
  /** Samples to the first false signal on average, watching one side: (lanes^r − 1)/(lanes − 1). */
  readonly averageRunLength: number;
  /** The same watching both the largest and the smallest mean, exact. */
  readonly eitherSideAverageRunLength: number;
}

/**
 * How many samples in a row may the same lane have the largest (or the smallest) mean before it is a signal? Where all
 * lanes are alike, each is extreme with probability 1/lanes, whatever the distribution; so the rule needs no limits and
 * sees a small lasting difference of one lane.
 *
 * @param lanes    2 … 1000 lanes, all measured in every sample.
 * @param options  the run length, or the average run length it has to reach (then the shortest run that does).
 * @returns        run length with its exact probability and average run lengths.
 * @throws         StatisticsError `not-finite`, `not-an-integer`, `out-of-range`.
 *
 * Source: Nelson, Control charts for multiple stream processes, Journal of Quality Technology 18(4), 1986; Montgomery,
 * Introduction to Statistical Quality Control, section 10.3.2. The default reproduces the run lengths printed there (7 for
 * 3 lanes, 6 for 4, 5 for 5 and 6, 4 for 7 to 10; cited from memory). Both sides together: Markov chain of the two runs.
 *
 * @example
 * laneRunLength(4);
 * // runLength 6, averageRunLength 1365, probability 0.000976…, eitherSideAverageRunLength 687.7…
 */
export function laneRunLength(lanes: number, options: LaneRunLengthOptions = {}): LaneRunLength {
  const { averageRunLength: wanted = 370 } = options;
  requireWhole(lanes, 2, 1000, 'lanes');
  requireBetween(wanted, 1, 1e9, 'options.averageRunLength');
  if (options.runLength !== undefined) requireWhole(options.runLength, 2, 60, 'options.runLength');
  const average = (run: number) => (lanes ** run - 1) / (lanes - 1);
  let runLength = options.runLength ?? 2;
  if (options.runLength === undefined) while (average(runLength) < wanted) runLength++;
  return {
    lanes,
    runLength,
    probability: lanes ** (1 - runLength),
    averageRunLength: average(runLength),
    eitherSideAverageRunLength: eitherSide(lanes, runLength),
  };
}

/**
 * Samples to the first run of r on either side. With a and b the runs of the lanes now largest and smallest, the next
 * sample keeps both with probability 1/(k(k − 1)), only one of them (k − 2)/(k(k − 1)) each, else both runs begin anew at
 * (1, 1). So the time is that of one round from (1, 1) until it begins anew or signals, over the probability that a round
 * signals. States (a, 1) are unknowns, (1, a) mirrors them, and while both runs are kept the diagonal is followed: all
 * terms are positive, and no digits are lost for long runs.
 */
function eitherSide(lanes: number, runLength: number): number {
  const both = 1 / (lanes * (lanes - 1));
  const one = (lanes - 2) / (lanes * (lanes - 1));
  // Position p stands for a run of p + 1; a run of `runLength` is the signal.
  const size = runLength - 1;
  const matrix: number[][] = [];
  const stepsAndSignal: number[][] = [];
  for (let row = 0; row < size; row++) {
    const coefficients = Array<number>(size).fill(0);
    coefficients[row] = 1;
    let steps = 0;
    for (let along = 0; row + along < size; along++) {
      const weight = both ** along;
      steps += weight;
      if (row + along + 1 < size) coefficients[row + along + 1]! -= weight * one;
      if (along + 1 < size) coefficients[along + 1]! -= weight * one;
    }
    matrix.push(coefficients);
    stepsAndSignal.push([steps, both ** (size - 1 - row) * (both + one + (row === 0 ? one : 0))]);
  }
  const [steps, signal] = solveLinear(matrix, stepsAndSignal)![0]!;
  return 1 + steps! / signal!;
}

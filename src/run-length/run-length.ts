import { requireBetween, requireFraction, requireName } from '../checks.ts';
import { type Outcome, StatisticsError, type Unavailable } from '../errors.ts';

/** How the process runs while the chart watches it. */
export interface RunLengthOptions {
  /** Shift of the plotted statistic in its own standard deviations, present from the first sample, −20 … 20. Default 0. */
  readonly shift?: number;
  /** Its standard deviation as a multiple of the one the chart was drawn with, 0.1 … 10. Default 1. */
  readonly standardDeviationRatio?: number;
  /**
   * 'zero-state': the process is so when the chart begins. 'steady-state': it becomes so after the chart has long run
   * in control without a signal. Default 'zero-state'.
   */
  readonly start?: 'zero-state' | 'steady-state';
  /** Probabilities of the quantiles wanted, at most 100, each between 0 and 1. Default 0.05, 0.5, 0.95. */
  readonly probabilities?: readonly number[];
}

/** How many samples a chart takes until it signals, the signalling one included. */
export interface RunLength {
  readonly method: 'closed form' | 'Markov chain' | 'integral equation';
  readonly averageRunLength: number;
  readonly standardDeviation: number;
  /** Fewest samples within which half of all charts signal. */
  readonly median: number;
  readonly quantiles: readonly RunLengthQuantile[];
}

export interface RunLengthQuantile {
  readonly probability: number;
  /** Fewest samples within which the chart signals with at least that probability. */
  readonly samples: number;
}

export type RunLengthMethod = RunLength['method'];

/** The options with their defaults, checked. */
export function processOf(options: RunLengthOptions, argument: string): Required<RunLengthOptions> {
  const { shift = 0, standardDeviationRatio = 1, start = 'zero-state' } = options;
  const { probabilities = [0.05, 0.5, 0.95] } = options;
  requireBetween(shift, -20, 20, `${argument}.shift`);
  requireBetween(standardDeviationRatio, 0.1, 10, `${argument}.standardDeviationRatio`);
  requireName(start, ['zero-state', 'steady-state'], `${argument}.start`);
  if (probabilities.length > 100)
    throw new StatisticsError(
      'out-of-range',
      `${argument}.probabilities`,
      probabilities.length,
      'Ask for at most 100 quantiles.',
    );
  probabilities.forEach((probability, index) => {
    requireFraction(probability, `${argument}.probabilities.${index}`);
  });
  return { shift, standardDeviationRatio, start, probabilities };
}

export type RunLengthOutcome = Outcome<RunLength>;

export const neverSignals: Unavailable = {
  available: false,
  reason: 'not-reachable',
  message:
    'The chart practically never signals under these conditions, so there is no run length. Narrow its limits, or add a rule that sees the change.',
};

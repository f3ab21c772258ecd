/** The ways in which a calculation can refuse, each with the rule that was broken. */
const statisticsErrorCodes = {
  empty: 'At least one value is needed.',
  'too-few-values': 'There are fewer values than the calculation needs.',
  'not-finite': 'Every value must be a finite number.',
  'out-of-range': 'The number lies outside the range that the calculation allows.',
  'not-an-integer': 'The number must be whole.',
  'sizes-differ': 'Two lists that belong together have different lengths.',
  'limits-reversed': 'The lower limit must lie below the upper limit.',
  'no-limits': 'At least one limit is needed.',
  'target-outside': 'The target must lie between the specification limits.',
  'unknown-name': 'The name is not one of those offered.',
} as const;

export type StatisticsErrorCode = keyof typeof statisticsErrorCodes;

const ruleOf = (code: StatisticsErrorCode, value: unknown): string =>
  code === 'not-finite' && value === undefined
    ? 'It is missing; give a finite number.'
    : statisticsErrorCodes[code];

/**
 * The caller broke the contract of a calculation. `argument` names the field (dotted path, 0-based index),
 * `value` is what came, and the message states the rule and the fix.
 */
export class StatisticsError extends Error {
  override readonly name = 'StatisticsError';
  readonly code: StatisticsErrorCode;
  readonly argument: string;
  readonly value: unknown;

  constructor(code: StatisticsErrorCode, argument: string, value: unknown, message?: string) {
    super(`${argument}: ${message ?? ruleOf(code, value)}`);
    this.code = code;
    this.argument = argument;
    this.value = value;
  }
}

/** The data are valid but the statistic does not exist for them; `message` says why and what would help. */
export interface Unavailable {
  readonly available: false;
  readonly reason: UnavailableReason;
  readonly message: string;
}

type UnavailableReason =
  | 'too-few-values'
  | 'no-variation'
  | 'no-specification-limit'
  | 'one-sided-specification'
  | 'no-target'
  /** The likelihood has no largest value inside the allowed parameters. */
  | 'no-maximum'
  /** Characteristics depend on each other exactly, or there are too few samples to tell them apart. */
  | 'singular-covariance'
  /** No parameter inside the allowed range meets what was asked. */
  | 'not-reachable'
  /** The answer lies outside the range in which the published method holds. */
  | 'outside-method';

/** A statistic that was computed. */
export type Available<T> = T & { readonly available: true };

export type Outcome<T> = Available<T> | Unavailable;

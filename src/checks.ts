/** Checks of arguments: each throws the one typed error, naming the field and the rule. */
import { StatisticsError } from './errors.ts';

/** A finite number. */
export function requireFinite(value: number, argument: string): void {
  if (!Number.isFinite(value)) throw new StatisticsError('not-finite', argument, value);
}

/** At least `least` finite numbers; an error names the entry. */
export function requireFiniteValues(values: ArrayLike<number>, argument: string, least = 1): void {
  if (values.length === 0 && least > 0) throw new StatisticsError('empty', argument, values);
  if (values.length < least)
    throw new StatisticsError(
      'too-few-values',
      argument,
      values.length,
      `At least ${least} values are needed; there ${values.length === 1 ? 'is 1' : `are ${values.length}`}.`,
    );
  for (let index = 0; index < values.length; index++)
    if (!Number.isFinite(values[index]))
      throw new StatisticsError('not-finite', `${argument}.${index}`, values[index]);
}

/** A finite number above 0. */
export function requirePositive(value: number, argument: string): void {
  requireFinite(value, argument);
  if (value <= 0) throw new StatisticsError('out-of-range', argument, value, 'It must be greater than 0.');
}

/** A finite number from `least` to `most`, both allowed. */
export function requireBetween(value: number, least: number, most: number, argument: string): void {
  requireFinite(value, argument);
  if (value < least || value > most)
    throw new StatisticsError('out-of-range', argument, value, `Choose a number from ${least} to ${most}.`);
}

/** A number strictly between 0 and 1: a probability, a confidence, a coverage. */
export function requireFraction(value: number, argument: string): void {
  requireFinite(value, argument);
  if (value <= 0 || value >= 1)
    throw new StatisticsError(
      'out-of-range',
      argument,
      value,
      'It must lie between 0 and 1, neither included.',
    );
}

/** A whole number from `least` to `most`, both allowed. */
export function requireWhole(value: number, least: number, most: number, argument: string): void {
  requireFinite(value, argument);
  if (!Number.isInteger(value)) throw new StatisticsError('not-an-integer', argument, value);
  requireBetween(value, least, most, argument);
}

/** Two lists that belong together. */
export function requireSameLength(
  length: number,
  expected: number,
  argument: string,
  expectedArgument: string,
): void {
  if (length !== expected)
    throw new StatisticsError(
      'sizes-differ',
      argument,
      length,
      `It needs one entry for each of the ${expected} in ${expectedArgument}.`,
    );
}

/** One of the names offered. */
export function requireName<Name extends string>(
  value: Name,
  names: readonly Name[],
  argument: string,
): void {
  if (!names.includes(value))
    throw new StatisticsError('unknown-name', argument, value, `Choose one of: ${names.join(', ')}.`);
}

/** A confidence (or a coverage) for which quantiles can be trusted: 0.001 … 1 − 1e-9. */
export function requireConfidence(value: number, argument: string): void {
  requireBetween(value, 0.001, 1 - 1e-9, argument);
}

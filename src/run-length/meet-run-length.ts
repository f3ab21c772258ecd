import { requireBetween } from '../checks.ts';
import type { Outcome } from '../errors.ts';
import type { RunLengthOutcome } from './run-length.ts';

/** Stands for "practically never signals". */
const never = 1e90;

/** The average, or that. */
export function averageOf(outcome: RunLengthOutcome): number {
  return outcome.available ? outcome.averageRunLength : never;
}

interface SearchRange {
  readonly least: number;
  readonly guess: number;
  readonly most: number;
  readonly slope?: number;
}

interface FoundParameter {
  readonly parameter: number;
  readonly averageRunLength: number;
  /** Of the logarithm of the run length there; 0 where the first guess was right. */
  readonly slope: number;
}

/** Largest change of the parameter in one step while it is not yet bracketed, and the first change. */
const stride = 1.25;
const firstStride = 1.03;

/**
 * The parameter at which the average run length, which grows with it, is what was wanted: secants on the logarithm,
 * which is nearly straight, kept inside what is already known to be too small and too large.
 *
 * @param range     least and most: parameters that may be tried; the guess, and where it is known the slope of the
 *                  logarithm there.
 * @param accuracy  relative, of the run length.
 * @returns         null where the range holds no such parameter.
 */
export function meetRunLength(
  wanted: number,
  averageAt: (parameter: number) => number,
  range: SearchRange,
  accuracy = 1e-8,
): FoundParameter | null {
  const { least, guess, most } = range;
  let low = least;
  let high = most;
  let before = guess;
  let excessBefore = 0;
  let at = guess;
  for (let step = 0; step < 100; step++) {
    const excess = Math.log(Math.min(averageAt(at), never)) - Math.log(wanted);
    const slope = step === 0 ? (range.slope ?? 0) : (excess - excessBefore) / (at - before);
    if (Math.abs(excess) <= accuracy)
      return { parameter: at, averageRunLength: wanted * Math.exp(excess), slope };
    if ((excess < 0 && at >= most) || (excess > 0 && at <= least)) return null;
    if (excess < 0) low = Math.max(low, at);
    else high = Math.min(high, at);
    let next = at - excess / slope;
    const blind = step === 0 ? firstStride : stride;
    if (!(slope > 0)) next = excess < 0 ? at * blind : at / blind;
    next = Math.min(Math.max(next, at / stride), at * stride);
    if (!(next > low && next < high)) next = nearer(at, low, high, least, most);
    before = at;
    excessBefore = excess;
    at = next;
  }
  return null;
}

/** The same where an average takes long: rough ones lead to where two or three exact ones are enough. */
export function meetRunLengthBothWays(
  wanted: number,
  roughAt: (parameter: number) => number,
  exactAt: (parameter: number) => number,
  range: SearchRange,
): FoundParameter | null {
  const rough = meetRunLength(wanted, roughAt, range, 1e-5);
  if (rough === null) return meetRunLength(wanted, exactAt, range);
  return meetRunLength(wanted, exactAt, { ...range, guess: rough.parameter, slope: rough.slope });
}

/** Where a secant has left what is possible: half way, or the end of the range while that has not been tried. */
function nearer(at: number, low: number, high: number, least: number, most: number): number {
  if (at === low && high === most) return Math.min(most, at * stride);
  if (at === high && low === least) return Math.max(least, at / stride);
  return (low + high) / 2;
}

/** A wanted average run length: 1.5 … 10⁸ samples. */
export function requireRunLength(averageRunLength: number, argument: string): void {
  requireBetween(averageRunLength, 1.5, 1e8, argument);
}

/** The answer, or why there is none. */
export function designed<Name extends string>(
  name: Name,
  found: { readonly parameter: number; readonly averageRunLength: number } | null,
  message: string,
): Outcome<Readonly<Record<Name, number>> & { readonly averageRunLength: number }> {
  if (found === null) return { available: false, reason: 'not-reachable', message };
  return {
    available: true,
    [name]: found.parameter,
    averageRunLength: found.averageRunLength,
  } as Outcome<Readonly<Record<Name, number>> & { readonly averageRunLength: number }>;
}

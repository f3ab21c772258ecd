/** What the tests of charts of counts share. */
import type { Available, Outcome } from '../../../src/errors.ts';
import { StatisticsError } from '../../../src/errors.ts';

export function available<T>(outcome: Outcome<T>): Available<T> {
  if (!outcome.available) throw new Error(outcome.message);
  return outcome;
}

/** Code and argument of the error that a call throws. */
export function refusal(call: () => unknown): string {
  try {
    call();
  } catch (error) {
    if (error instanceof StatisticsError) return `${error.code} ${error.argument}`;
    throw error;
  }
  return 'nothing was thrown';
}

/** Turns a uniform number into a count by going up its distribution term by term. */
function sampler(first: number, next: (term: number, count: number) => number): (uniform: number) => number {
  const cumulative: number[] = [];
  let term = first;
  let sum = first;
  for (let count = 1; term > 1e-18 || count < 3; count++) {
    cumulative.push(sum);
    term = next(term, count);
    sum += term;
    if (count > 5000) break;
  }
  return (uniform) => {
    const place = cumulative.findIndex((probability) => uniform <= probability);
    return place < 0 ? cumulative.length : place;
  };
}

export const binomialSampler = (trials: number, p: number) =>
  sampler((1 - p) ** trials, (term, count) => ((term * (trials - count + 1)) / count) * (p / (1 - p)));

export const poissonSampler = (mean: number) =>
  sampler(Math.exp(-mean), (term, count) => (term * mean) / count);

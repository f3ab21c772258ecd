import { binomialProbability } from './binomial.ts';

/**
 * P(X ≤ count): of `draws` pieces taken without putting back from `total`, of which `marked` are marked, at most
 * `count` are. Whole numbers, 0 ≤ draws, marked ≤ total. Relative error about 1e-13 (1e-12 for totals of a million).
 *
 * The terms are summed from the one at the count away from the mean, so a far tail keeps all its digits.
 */
export function hypergeometricLowerTail(count: number, draws: number, marked: number, total: number): number {
  const least = Math.max(0, draws + marked - total);
  const most = Math.min(draws, marked);
  if (count < least) return 0;
  if (count >= most) return 1;
  return (count + 1) * total > draws * marked
    ? 1 - sumUp(count + 1, most, draws, marked, total)
    : sumDown(count, least, draws, marked, total);
}

/** P(X ≥ count), as accurate as hypergeometricLowerTail. */
export function hypergeometricUpperTail(count: number, draws: number, marked: number, total: number): number {
  const least = Math.max(0, draws + marked - total);
  const most = Math.min(draws, marked);
  if (count <= least) return 1;
  if (count > most) return 0;
  return count * total > draws * marked
    ? sumUp(count, most, draws, marked, total)
    : 1 - sumDown(count - 1, least, draws, marked, total);
}

/** P(X = count). Source: three binomial probabilities at the fraction drawn, after C. Loader (2000; cited from memory). */
export function hypergeometricProbability(
  count: number,
  draws: number,
  marked: number,
  total: number,
): number {
  if (draws === 0 || marked === 0) return count === 0 ? 1 : 0;
  if (draws === total) return count === marked ? 1 : 0;
  if (marked === total) return count === draws ? 1 : 0;
  const fraction = draws / total;
  return (
    binomialProbability(count, marked, fraction) *
    (binomialProbability(draws - count, total - marked, fraction) /
      binomialProbability(draws, total, fraction))
  );
}

function sumUp(count: number, most: number, draws: number, marked: number, total: number): number {
  let term = hypergeometricProbability(count, draws, marked, total);
  let sum = term;
  for (let k = count; k < most && term > sum * 1e-17; k++) {
    term *= ((marked - k) / (k + 1)) * ((draws - k) / (total - marked - draws + k + 1));
    sum += term;
  }
  return Math.min(1, sum);
}

function sumDown(count: number, least: number, draws: number, marked: number, total: number): number {
  let term = hypergeometricProbability(count, draws, marked, total);
  let sum = term;
  for (let k = count; k > least && term > sum * 1e-17; k--) {
    term *= (k / (marked - k + 1)) * ((total - marked - draws + k) / (draws - k + 1));
    sum += term;
  }
  return Math.min(1, sum);
}

import { requireFiniteValues } from '../checks.ts';
import type { Outcome } from '../errors.ts';
import { normalUpperTail } from '../numerics/normal.ts';
import { midRanks } from './mid-ranks.ts';

export interface MannWhitneyTest {
  readonly method: 'Mann-Whitney';
  readonly counts: readonly [first: number, second: number];
  /** Pairs in which the reading of the first sample is larger; a tie counts ½. */
  readonly statistic: number;
  /** Its distance from the middle in standard deviations, half a pair nearer for continuity. */
  readonly standardizedStatistic: number;
  /** Two-sided, by the normal approximation with corrections for ties and continuity. */
  readonly asymptoticPValue: number;
  /** Two-sided; null with ties, or where there are more than 2000 pairs. */
  readonly exactPValue: number | null;
  readonly hasTies: boolean;
}

/**
 * Do the readings of one sample tend to be larger than those of another, whatever the shape of their distribution?
 *
 * @param first   1 or more finite readings.
 * @param second  likewise, in the same unit.
 * @returns       Unavailable `no-variation` where all readings are equal.
 * @throws        StatisticsError `empty`, `not-finite`.
 *
 * Source: Mann and Whitney, Annals of Mathematical Statistics 18 (1947) 50-60 (with the recurrence for exact values);
 * NIST/SEMATECH e-Handbook of Statistical Methods, 7.3.5.
 *
 * @example
 * mannWhitneyTest([6.9, 5.4, 5.8, 4.6, 4.0], [8.3, 6.8, 7.8, 9.2, 6.5]);
 * // available, statistic 2, exactPValue 0.0317…, hasTies false
 */
export function mannWhitneyTest(
  first: readonly number[],
  second: readonly number[],
): Outcome<MannWhitneyTest> {
  requireFiniteValues(first, 'first');
  requireFiniteValues(second, 'second');
  const [n, m] = [first.length, second.length];
  const count = n + m;
  const { ranks, ties } = midRanks([...first, ...second]);
  if (ties === count ** 3 - count)
    return {
      available: false,
      reason: 'no-variation',
      message: 'All readings are equal, so they have no order. Check that the gauge resolves them.',
    };
  let statistic = (-n * (n + 1)) / 2;
  for (let k = 0; k < n; k++) statistic += ranks[k]!;
  const larger = Math.max(statistic, n * m - statistic);
  const variance = ((n * m) / 12) * (count + 1 - ties / (count * (count - 1)));
  const distance = statistic - (n * m) / 2;
  const standardizedStatistic = (distance - 0.5 * Math.sign(distance)) / Math.sqrt(variance);
  return {
    available: true,
    method: 'Mann-Whitney',
    counts: [n, m],
    statistic,
    standardizedStatistic,
    asymptoticPValue: Math.min(1, 2 * normalUpperTail(Math.abs(standardizedStatistic))),
    exactPValue: ties === 0 && n * m <= 2000 ? Math.min(1, 2 * exactUpperTail(larger, n, m)) : null,
    hasTies: ties > 0,
  };
}

/** P(U ≥ value) without ties, by the recurrence over the largest reading: it belongs to either sample. */
function exactUpperTail(value: number, n: number, m: number): number {
  // row[j] holds the probabilities of U for i readings of the first sample and j of the second.
  let row: Float64Array[] = Array.from({ length: m + 1 }, () => Float64Array.of(1));
  for (let i = 1; i <= n; i++) {
    const next: Float64Array[] = [Float64Array.of(1)];
    for (let j = 1; j <= m; j++) {
      const [above, beside] = [row[j]!, next[j - 1]!];
      const current = new Float64Array(i * j + 1);
      const share = i / (i + j);
      for (let u = 0; u < above.length; u++) current[u + j]! += share * above[u]!;
      for (let u = 0; u < beside.length; u++) current[u]! += (1 - share) * beside[u]!;
      next.push(current);
    }
    row = next;
  }
  const probabilities = row[m]!;
  let sum = 0;
  for (let u = probabilities.length - 1; u >= value; u--) sum += probabilities[u]!;
  return sum;
}

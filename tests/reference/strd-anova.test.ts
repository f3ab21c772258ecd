/** NIST Statistical Reference Datasets, analysis of variance: digits reached against the certified values. */
import { afterAll, describe, expect, test } from 'vitest';
import { oneWayAnalysisOfVariance } from '../../src/index.ts';
import { digitsReached, digitsTable } from './digits-reached.ts';
import { readCases } from './run-cases.ts';

interface Inputs {
  readonly groups?: readonly (readonly number[])[];
  readonly base?: string;
  readonly treatmentMeansMinusBase?: readonly string[];
  readonly replicates?: number;
}

/** The value as the decimal is written, e.g. base 1000000 and 0.4 and −0.1: 1000000.3. */
function groupsOf({ groups, base, treatmentMeansMinusBase, replicates }: Inputs) {
  if (groups !== undefined) return groups;
  return treatmentMeansMinusBase!.map((mean) => {
    const tenths = Math.round(Number(mean) * 10);
    const value = (step: number) => Number(`${base}.${tenths + step}`);
    return Array.from({ length: replicates! }, (_, i) => value(i === 0 ? 0 : i % 2 === 1 ? -1 : 1));
  });
}

/**
 * Digits asked for. Readings near 10⁶ (10¹²) with one decimal are no binary fractions: a double is up to 6e-11 (6e-5)
 * off, and the deviations from the mean are 0.1, so the data carry a relative error of up to 6e-10 (6e-4), which
 * averages out a little in the sums. More cannot be reached by any arithmetic.
 */
const asked: Record<string, number> = {
  'strd-smls04': 9.2,
  'strd-smls06': 9.2,
  'strd-smls07': 3.2,
  'strd-smls09': 3.2,
};

const figures = ['between', 'within', 'F', 'R squared', 'residual s'];

describe('reference cases: strd-anova', () => {
  const cases = readCases('strd-anova');
  const rows: { id: string; digits: number[] }[] = [];
  for (const { id, inputs, expected } of cases) {
    test(id, () => {
      const result = oneWayAnalysisOfVariance(groupsOf(inputs as Inputs));
      if (!result.available) throw new Error(result.message);
      const certified = expected as Record<string, string>;
      const digits = [
        digitsReached(result.between.sumOfSquares, certified.betweenSumOfSquares!),
        digitsReached(result.within.sumOfSquares, certified.withinSumOfSquares!),
        digitsReached(result.fRatio, certified.fStatistic!),
        digitsReached(result.rSquared, certified.rSquared!),
        digitsReached(result.residualStandardDeviation, certified.residualStandardDeviation!),
      ];
      expect([result.between.degreesOfFreedom, result.within.degreesOfFreedom]).toEqual(
        expected.degreesOfFreedom,
      );
      expect(digitsReached(result.between.meanSquare, certified.betweenMeanSquare!)).toBeGreaterThanOrEqual(
        Math.floor(digits[0]!),
      );
      expect(digitsReached(result.within.meanSquare, certified.withinMeanSquare!)).toBeGreaterThanOrEqual(
        Math.floor(digits[1]!),
      );
      for (const digit of digits) expect(digit).toBeGreaterThanOrEqual(asked[id] ?? 13);
      rows.push({ id, digits });
    });
  }
  test('the file still holds its 8 cases', () => expect(cases).toHaveLength(8));
  afterAll(() => {
    process.stdout.write(digitsTable(figures, rows));
    process.stdout.write(`reference cases: strd-anova ${rows.length} of ${cases.length}\n`);
  });
});

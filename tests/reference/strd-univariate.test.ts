/** NIST Statistical Reference Datasets, univariate: digits reached against the certified values. */
import { afterAll, describe, expect, test } from 'vitest';
import { lagOneAutocorrelation, subgroupStatistics } from '../../src/index.ts';
import { digitsReached, digitsTable } from './digits-reached.ts';
import { readCases } from './run-cases.ts';

interface Inputs {
  readonly values?: readonly number[];
  readonly digits?: string;
  readonly count?: number;
  readonly first?: string;
  readonly alternating?: readonly string[];
}

function dataSet({ values, digits, count, first, alternating }: Inputs): readonly number[] {
  if (values !== undefined) return values;
  if (digits !== undefined) return [...digits].map(Number);
  if (first === undefined || alternating === undefined) throw new Error('unknown rule of a data set');
  return [Number(first), ...Array.from({ length: count! - 1 }, (_, i) => Number(alternating[i % 2]))];
}

/**
 * Digits asked for. The values of NumAcc3 and NumAcc4 are no binary fractions: near 10⁶ (10⁷) a double is up to
 * 6e-11 (9e-10) off, and the deviations from the mean are 0.1, so they carry a relative error of up to 6e-10 (9e-9).
 */
const asked: Record<string, { readonly mean: number; readonly others: number }> = {
  'strd-numacc3': { mean: 13, others: 9 },
  'strd-numacc4': { mean: 13, others: 8 },
};

describe('reference cases: strd-univariate', () => {
  const cases = readCases('strd-univariate');
  const rows: { id: string; digits: number[] }[] = [];
  for (const { id, inputs, expected } of cases) {
    test(id, () => {
      const values = dataSet(inputs as Inputs);
      const { mean, standardDeviation } = subgroupStatistics(values);
      const lagOne = lagOneAutocorrelation(values);
      if (!lagOne.available) throw new Error(lagOne.message);
      const reached = {
        mean: digitsReached(mean!, expected.mean as string),
        standardDeviation: digitsReached(standardDeviation!, expected.standardDeviation as string),
        lagOne: digitsReached(lagOne.correlation, expected.lag1Autocorrelation as string),
      };
      const { mean: forMean, others } = asked[id] ?? { mean: 13, others: 13 };
      expect(reached.mean).toBeGreaterThanOrEqual(forMean);
      expect(reached.standardDeviation).toBeGreaterThanOrEqual(others);
      expect(reached.lagOne).toBeGreaterThanOrEqual(others);
      rows.push({ id, digits: Object.values(reached) });
    });
  }
  afterAll(() => {
    process.stdout.write(digitsTable(['mean', 'standard deviation', 'lag-1 correlation'], rows));
    process.stdout.write(`reference cases: strd-univariate ${rows.length} of ${cases.length}\n`);
  });
});

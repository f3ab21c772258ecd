/** Two cumulative sums together, against what elimination gives for one, which walks nothing. */
import { describe, expect, it } from 'vitest';
import { cusumRunLength } from '../../../src/index.ts';
import { averagesOfChain } from '../../../src/run-length/average-of-chain.ts';
import { oneSum } from '../../../src/run-length/one-sum.ts';
import { known } from '../known.ts';

describe('the run length of two sums', () => {
  it.each([
    [0, 20, 0],
    [0, 50, 0],
    [0, 50, 0.5],
    [0.1, 30, 0],
    [0.1, 30, 0.5],
    [0.5, 5, 0.5],
    [1, 2, 0],
  ])(
    'has in control the mean of Lucas and Crosier, Technometrics 24(3), 1982: k = %d, h = %d, head start %d',
    (referenceValue, decisionInterval, headStart) => {
      const chain = oneSum(referenceValue, decisionInterval, 0, 1);
      const [fresh, first] = averagesOfChain(chain, [
        chain.from(0),
        chain.from(headStart * decisionInterval),
      ]) as [number, number];
      const found = known(cusumRunLength({ referenceValue, decisionInterval, headStart }));
      expect(found.averageRunLength / (first - fresh / 2)).toBeCloseTo(1, 9);
    },
  );

  it('has mean, spread and quantiles that belong to one distribution, also where the sums settle late', () => {
    // The chances at many points give the mean and the mean square again, without the formula for two sums.
    const probabilities = Array.from({ length: 100 }, (_, k) => (k + 0.5) / 100);
    for (const settings of [
      { referenceValue: 0, decisionInterval: 12 },
      { referenceValue: 0.1, decisionInterval: 12, headStart: 0.5 },
    ]) {
      const found = known(cusumRunLength(settings, { probabilities }));
      const times = found.quantiles.map(({ samples }) => samples - 0.5);
      const mean = times.reduce((sum, time) => sum + time, 0) / times.length;
      const square = times.reduce((sum, time) => sum + time * time, 0) / times.length;
      expect(mean / found.averageRunLength).toBeCloseTo(1, 1);
      expect(Math.sqrt(square - mean * mean) / found.standardDeviation).toBeCloseTo(1, 1);
    }
  });
});

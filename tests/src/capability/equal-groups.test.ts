/** Ten batches of gears, GEAR.DAT of the NIST/SEMATECH e-Handbook; expected values by scipy 1.17.1 (f_oneway, bartlett). */
import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { equalMeans, equalSpreads } from '../../../src/capability/equal-groups.ts';
import { subgroupStatistics } from '../../../src/index.ts';

const rows = readFileSync('tests/reference/gear.csv', 'utf8')
  .trim()
  .split('\n')
  .slice(1)
  .map((line) => line.split(',').map(Number));
const batches = Array.from({ length: 10 }, (_, batch) =>
  rows.flatMap(([diameter, of]) => (of === batch + 1 ? [diameter!] : [])),
);
const moments = batches.map((batch) => {
  const { size, mean, standardDeviation } = subgroupStatistics(batch);
  return { size, mean: mean!, standardDeviation: standardDeviation! };
});

describe('groups that could be one', () => {
  it('share a mean', () => {
    const { betweenMeanSquare, withinMeanSquare, ...found } = equalMeans(moments);
    expect(betweenMeanSquare / withinMeanSquare).toBeCloseTo(2.296912413358539, 9);
    expect(found).toEqual({
      betweenDegreesOfFreedom: 9,
      withinDegreesOfFreedom: 90,
      pValue: expect.closeTo(0.02266081927864117, 9),
    });
    expect(equalMeans(moments.map((one) => ({ ...one, standardDeviation: 0 }))).pValue).toBe(0);
  });

  it('share a standard deviation', () => {
    expect(equalSpreads(moments).pValue).toBeCloseTo(0.013635863278057483, 9);
    expect(equalSpreads(moments.map((one) => ({ ...one, standardDeviation: 0.006 }))).pValue).toBeCloseTo(
      1,
      9,
    );
    // scipy 1.17.1: bartlett of the first batch, and of the first five parts of the sixth.
    const uneven = [batches[0]!, batches[5]!.slice(0, 5)].map((batch) => {
      const { size, mean, standardDeviation } = subgroupStatistics(batch);
      return { size, mean: mean!, standardDeviation: standardDeviation! };
    });
    expect(equalSpreads(uneven).pValue).toBeCloseTo(0.03840333630981632, 9);
  });
});

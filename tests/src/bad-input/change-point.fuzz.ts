/** Hostile arguments for change points. */
import fc from 'fast-check';
import {
  anyCounts,
  anyNumber,
  anyNumbers,
  everydayNumbers,
  type FuzzedFunctions,
  mostly,
} from './hostile.ts';

const values = mostly(everydayNumbers, anyNumbers);
const level = mostly(fc.double({ min: -5, max: 15, noNaN: true }), anyNumber);
const spread = mostly(fc.double({ min: 0.01, max: 10, noNaN: true }), anyNumber);
const size = mostly(fc.integer({ min: 2, max: 9 }), anyNumber);
const drop = mostly(fc.double({ min: 0, max: 5, noNaN: true }), anyNumber);

export const fuzzed: FuzzedFunctions = {
  meanChangePoint: fc.tuple(
    values,
    fc.record(
      { mean: level, standardDeviation: spread, size, sizes: anyCounts, drop },
      { requiredKeys: ['standardDeviation'] },
    ),
  ),
  driftChangePoint: fc.tuple(
    values,
    fc.record(
      { mean: level, standardDeviation: spread, size, sizes: anyCounts, drop },
      { requiredKeys: ['mean', 'standardDeviation'] },
    ),
  ),
  varianceChangePoint: fc.tuple(
    mostly(
      everydayNumbers.map((given) => given.map(Math.abs)),
      anyNumbers,
    ),
    fc.record(
      { standardDeviation: spread, size, sizes: anyCounts, drop },
      { requiredKeys: ['standardDeviation'] },
    ),
  ),
  poissonChangePoint: fc.tuple(
    anyCounts,
    fc.record({ rate: spread, areas: anyNumbers, drop }, { requiredKeys: ['rate'] }),
  ),
  binomialChangePoint: fc.tuple(
    anyCounts,
    fc.record(
      {
        proportion: mostly(fc.double({ min: 0.001, max: 0.999, noNaN: true }), anyNumber),
        sizes: fc.oneof(mostly(fc.constant(50), anyNumber), anyCounts),
        drop,
      },
      { requiredKeys: ['proportion', 'sizes'] },
    ),
  ),
  changePointTest: fc.tuple(
    values,
    fc.record(
      {
        significance: mostly(fc.constantFrom(0.01, 0.3), anyNumber),
        permutations: mostly(fc.constantFrom(99, 120), anyNumber),
        seed: anyNumber,
        drop,
      },
      { requiredKeys: [] },
    ),
  ),
};

/** Hostile arguments for the first phase. */
import fc from 'fast-check';
import { anyCounts, anyNumber, anyNumbers, everydayNumber, type FuzzedFunctions, mostly } from './hostile.ts';

const subgroup = fc.array(fc.option(everydayNumber, { freq: 8 }), { minLength: 1, maxLength: 4 });
const singles = fc.array(fc.tuple(everydayNumber), { minLength: 3, maxLength: 20 });
const subgroups = mostly(
  fc.oneof(singles as fc.Arbitrary<unknown>, fc.array(subgroup, { minLength: 1, maxLength: 15 })),
  fc.array(anyNumbers, { maxLength: 5 }),
);
const reasons = fc.array(
  fc.record({
    index: mostly(fc.integer({ min: 0, max: 12 }), anyNumber),
    reason: mostly(fc.constant('wrong coil'), fc.constantFrom('', '  ')),
  }),
  { maxLength: 4 },
);
const multiple = mostly(fc.constantFrom(1, 2, 3), anyNumber);

export const fuzzed: FuzzedFunctions = {
  firstPhase: fc.tuple(
    subgroups,
    fc.record(
      {
        chart: mostly(
          fc.constantFrom('mean-range', 'mean-standard-deviation', 'individuals-moving-range'),
          fc.constant('x'),
        ),
        reasons,
        multiple,
        movingRangeSpan: mostly(fc.integer({ min: 2, max: 4 }), anyNumber),
        method: mostly(fc.constantFrom('range', 'pooled'), fc.constant('x')),
      },
      { requiredKeys: ['chart'] },
    ),
  ),
  firstPhaseOfProportions: fc.tuple(
    anyCounts.map((counts) => counts.map((count) => ({ count, size: 40 }))),
    fc.record({ reasons, multiple }, { requiredKeys: [] }),
  ),
};

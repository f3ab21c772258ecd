/** The runner of reference cases must be able to fail: what it is told to find, it finds. */
import { describe, expect, it } from 'vitest';
import { variablesChartsHandlers } from './chart-cases.ts';
import { differences, type ReferenceCase, readCases } from './run-cases.ts';

const referenceCase: ReferenceCase = {
  id: 'sample',
  inputs: {},
  expected: { mean: 10, limits: { upper: 12, lower: null }, outside: [1, 4] },
  tolerance: 1e-6,
};
const right = { mean: 10, limits: { upper: 12, lower: null }, outside: [1, 4] };

describe('differences', () => {
  it('finds none where all is right, within the tolerance too', () => {
    expect(differences(right, referenceCase)).toEqual([]);
    expect(differences({ ...right, mean: 10 + 9e-6 }, referenceCase)).toEqual([]);
  });

  it.each([
    ['a figure just beyond its tolerance', { ...right, mean: 10 + 11e-6 }, 'mean'],
    ['NaN', { ...right, mean: Number.NaN }, 'mean'],
    ['a missing field', { limits: right.limits, outside: right.outside }, 'mean'],
    ['a figure where there is none', { ...right, limits: { upper: 12, lower: 0 } }, 'limits.lower'],
    ['a shorter list', { ...right, outside: [1] }, 'outside'],
    ['another index', { ...right, outside: [1, 5] }, 'outside.1'],
    ['a missing group', { mean: 10, outside: right.outside }, 'limits'],
  ])('finds %s', (_, actual, field) => {
    const found = differences(actual, referenceCase);
    expect(found).toHaveLength(1);
    expect(found[0]).toContain(`${field}:`);
  });

  it('finds a changed limit in every stored chart case that has one', () => {
    let changed = 0;
    for (const one of readCases('variables-charts')) {
      const chart = Object.keys(one.expected).find((name) => /^(mean|individuals)Chart$/.test(name));
      const handler = variablesChartsHandlers[String(one.inputs.kind)];
      if (chart === undefined || typeof handler !== 'function') continue;
      const wrong = structuredClone(one) as { expected: Record<string, { center: unknown }> };
      wrong.expected[chart]!.center = 1e9;
      const found = differences(handler(one.inputs, one.expected), wrong as unknown as ReferenceCase);
      expect(found.length, one.id).toBeGreaterThan(0);
      changed++;
    }
    expect(changed).toBe(57);
  });
});

import { describe, expect, it } from 'vitest';
import { limitPassed } from '../../../src/index.ts';

const drawing = { lowerSpecificationLimit: 189.5, upperSpecificationLimit: 191.5 };

describe('limitPassed', () => {
  it.each([
    [189.49, { side: 'below', limit: 189.5 }],
    [189.5, null],
    [190, null],
    [191.5, null],
    [191.51, { side: 'above', limit: 191.5 }],
  ] as const)('%d: a value on the limit is inside', (value, passed) => {
    expect(limitPassed(value, drawing)).toEqual(passed);
  });

  it('a limit that does not exist is never passed', () => {
    expect(limitPassed(-1e9, { ...drawing, lowerSpecificationLimit: null })).toBeNull();
    expect(limitPassed(1e9, { ...drawing, upperSpecificationLimit: null })).toBeNull();
    expect(limitPassed(0, { lowerSpecificationLimit: null, upperSpecificationLimit: null })).toBeNull();
  });

  it.each([
    [Number.NaN, drawing, 'not-finite', 'value'],
    [1, { ...drawing, lowerSpecificationLimit: Number.NaN }, 'not-finite', 'lowerSpecificationLimit'],
    [1, { ...drawing, upperSpecificationLimit: Infinity }, 'not-finite', 'upperSpecificationLimit'],
    [1, { ...drawing, upperSpecificationLimit: 189.5 }, 'limits-reversed', 'upperSpecificationLimit'],
  ] as const)('%d with %j is refused: %s at %s', (value, limits, code, argument) => {
    expect(() => limitPassed(value, limits)).toThrow(expect.objectContaining({ code, argument }));
  });
});

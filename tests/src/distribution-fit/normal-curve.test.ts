import { describe, expect, it } from 'vitest';
import { normalCurve } from '../../../src/distribution-fit/normal-curve.ts';

describe('normal curve', () => {
  // scipy 1.17.1: norm.pdf(x, mean, standardDeviation).
  it.each([
    [0, 0, 1, 0.3989422804014327],
    [127.5, 127, 0.18, 0.046786302689546415],
    [-3, 0, 2, 0.06475879783294587],
  ])('at %f of N(%f, %f)', (x, mean, standardDeviation, expected) => {
    expect(normalCurve(x, { mean, standardDeviation })).toBeCloseTo(expected, 12);
  });

  it('refuses a standard deviation of 0 and a value that is no number', () => {
    expect(() => normalCurve(0, { mean: 0, standardDeviation: 0 })).toThrow(
      expect.objectContaining({ code: 'out-of-range', argument: 'standardDeviation' }),
    );
    expect(() => normalCurve(Number.NaN, { mean: 0, standardDeviation: 1 })).toThrow(
      expect.objectContaining({ code: 'not-finite', argument: 'x' }),
    );
  });
});

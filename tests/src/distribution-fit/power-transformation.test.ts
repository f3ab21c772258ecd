import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { powerCurve } from '../../../src/distribution-fit/power-curve.ts';
import {
  fitDistribution,
  fitPowerTransformation,
  powerTransform,
  powerTransformBack,
} from '../../../src/index.ts';
import { randomSource } from '../../../src/numerics/random.ts';

const methods = ['box-cox', 'yeo-johnson'] as const;

describe('powerTransform', () => {
  it('is the plain function where the power has a name', () => {
    const boxCox = (x: number, lambda: number) => powerTransform(x, { method: 'box-cox', lambda });
    expect(boxCox(9, 0.5)).toBeCloseTo(2 * (3 - 1), 14);
    expect(boxCox(9, 0)).toBeCloseTo(Math.log(9), 15);
    expect(boxCox(9, -1)).toBeCloseTo(1 - 1 / 9, 15);
    expect(boxCox(9, 1)).toBeCloseTo(8, 14);
    const yeo = (x: number, lambda: number) => powerTransform(x, { method: 'yeo-johnson', lambda });
    expect(yeo(8, 0)).toBeCloseTo(Math.log(9), 15);
    expect(yeo(-8, 2)).toBeCloseTo(-Math.log(9), 15);
    expect(yeo(-8, 0)).toBeCloseTo(-(81 - 1) / 2, 12);
    expect(yeo(3.5, 1)).toBeCloseTo(3.5, 14);
    expect(yeo(-3.5, 1)).toBeCloseTo(-3.5, 14);
    expect(yeo(0, 0.3)).toBe(0);
  });

  it('increases, and comes back', () => {
    fc.assert(
      fc.property(
        fc.constantFrom(...methods),
        fc.double({ min: -2, max: 3, noNaN: true }),
        fc.double({ min: 0.01, max: 50, noNaN: true }),
        fc.boolean(),
        (method, lambda, size, negative) => {
          const x = method === 'yeo-johnson' && negative ? -size : size;
          const y = powerTransform(x, { method, lambda });
          expect(powerTransform(x + 0.01, { method, lambda })).toBeGreaterThan(y);
          // A negative power of 50 differs from −1/lambda in the fourth digit only.
          expect(powerTransformBack(y, { method, lambda }) / x).toBeCloseTo(1, 7);
        },
      ),
    );
  });

  it('ends where powers end', () => {
    expect(powerTransformBack(-2, { method: 'box-cox', lambda: 0.5 })).toBe(0);
    expect(powerTransformBack(-5, { method: 'box-cox', lambda: 0.5 })).toBe(0);
    expect(() => powerTransformBack(1, { method: 'box-cox', lambda: -1 })).toThrow(
      expect.objectContaining({ code: 'out-of-range', argument: 'y' }),
    );
    expect(() => powerTransformBack(Number.NaN, { method: 'box-cox', lambda: -1 })).toThrow(
      expect.objectContaining({ code: 'not-finite', argument: 'y' }),
    );
    for (const x of [0, -1])
      expect(() => powerTransform(x, { method: 'box-cox', lambda: 1 })).toThrow(
        expect.objectContaining({ code: 'out-of-range', argument: 'x' }),
      );
    expect(() => powerTransform(1e300, { method: 'box-cox', lambda: 3 })).toThrow(
      expect.objectContaining({ code: 'out-of-range', argument: 'x' }),
    );
    expect(() => powerTransform(1, { method: 'log' as 'box-cox', lambda: 3 })).toThrow(
      expect.objectContaining({ code: 'unknown-name', argument: 'options.method' }),
    );
    expect(() => powerTransform(1, { method: 'box-cox', lambda: Infinity })).toThrow(
      expect.objectContaining({ code: 'not-finite', argument: 'options.lambda' }),
    );
  });
});

describe('fitPowerTransformation', () => {
  const random = randomSource(17);
  const normal = Array.from({ length: 200 }, () => random.normal());
  const fitted = (values: readonly number[], options = {}) => {
    const result = fitPowerTransformation(values, options);
    if (!result.available) throw new Error(result.message);
    return result;
  };

  it.each([
    ['logarithm', (z: number) => Math.exp(0.5 * z)],
    ['square root', (z: number) => (3 + 0.5 * z) ** 2],
    ['reciprocal', (z: number) => 1 / (3 + 0.5 * z)],
    ['no change', (z: number) => 5 + z],
  ])('recommends the plain power: %s', (name, make) => {
    const result = fitted(normal.map(make));
    expect(result.plainPower?.name).toBe(name);
    expect(result.interval.lower!).toBeLessThan(result.lambda);
    expect(result.interval.upper!).toBeGreaterThan(result.lambda);
    expect(result.message).toContain(name === 'no change' ? 'leave them as they are' : name);
  });

  it('does not depend on the unit, as Box and Cox', () => {
    const values = normal.map((z) => Math.exp(0.5 * z));
    const inches = fitted(values.map((value) => value / 25.4));
    expect(inches.lambda).toBeCloseTo(fitted(values).lambda, 10);
    expect(inches.interval.upper).toBeCloseTo(fitted(values).interval.upper!, 9);
    expect(inches.logLikelihood - 200 * Math.log(25.4)).toBeCloseTo(fitted(values).logLikelihood, 8);
  });

  it('takes a power chosen beforehand, whose likelihood is no larger', () => {
    const values = normal.map((z) => Math.exp(0.5 * z));
    const best = fitted(values);
    for (const lambda of [best.lambda - 0.01, best.lambda + 0.01, 0.5, -1]) {
      const chosen = fitted(values, { lambda });
      expect(chosen).toMatchObject({
        lambda,
        estimated: false,
        message: expect.stringContaining('chosen beforehand'),
      });
      expect(chosen.logLikelihood).toBeLessThan(best.logLikelihood);
    }
    const logs = values.map((value) => Math.log(value));
    const mean = logs.reduce((sum, log) => sum + log, 0) / 200;
    const chosen = fitted(values, { lambda: 0 });
    expect(chosen.mean).toBeCloseTo(mean, 12);
    expect(chosen.standardDeviation).toBeCloseTo(
      Math.sqrt(logs.reduce((sum, log) => sum + (log - mean) ** 2, 0) / 199),
      12,
    );
  });

  it('has none where no plain power lies inside, and a wide interval where little is known', () => {
    const squared = fitted(normal.map((z) => Math.sqrt(10 + 2 * z)));
    expect(squared.plainPower).toBeNull();
    expect(squared.message).toContain('No plain power');
    const wide = fitted([0.12, 0.31, 0.25], { confidence: 0.99 });
    expect(wide.interval.lower === null || wide.interval.lower < -3).toBe(true);
  });

  it('follows the confidence', () => {
    const values = normal.slice(0, 40).map((z) => Math.exp(z));
    const narrow = fitted(values, { confidence: 0.5 }).interval;
    const wide = fitted(values, { confidence: 0.99 }).interval;
    expect(wide.lower!).toBeLessThan(narrow.lower!);
    expect(wide.upper!).toBeGreaterThan(narrow.upper!);
    expect(fitted(values).interval.confidence).toBe(0.95);
  });

  it('refuses bad arguments by name, and says when there is no answer', () => {
    const throws = (values: number[], options: object, code: string, argument: string) =>
      expect(() => fitPowerTransformation(values, options)).toThrow(
        expect.objectContaining({ code, argument }),
      );
    throws([1, 0, 2], {}, 'out-of-range', 'values.1');
    throws([1, 2, 3], { confidence: 1 }, 'out-of-range', 'options.confidence');
    throws([1, 2, 3], { lambda: 21 }, 'out-of-range', 'options.lambda');
    throws([1, 2, 3], { method: 'log' }, 'unknown-name', 'options.method');
    throws([], {}, 'empty', 'values');
    expect(fitPowerTransformation([1, 2])).toMatchObject({ available: false, reason: 'too-few-values' });
    expect(fitPowerTransformation([2, 2, 2])).toMatchObject({ available: false, reason: 'no-variation' });
    expect(fitPowerTransformation([1e300, 1, 2], { lambda: 15 })).toMatchObject({ reason: 'outside-method' });
    expect(fitPowerTransformation([-1, 0, 2, 1.5], { method: 'yeo-johnson' }).available).toBe(true);
  });
});

describe('the curve behind powers', () => {
  it('has no seam where series and closed form meet, and right derivatives', () => {
    const curve = { value: 0, first: 0, second: 0 };
    const at = (t: number) => {
      powerCurve(t, curve);
      return { ...curve };
    };
    for (const t of [-1, 1]) {
      const [inside, outside] = [at(t * (1 - 1e-12)), at(t * (1 + 1e-12))];
      expect(inside.value).toBeCloseTo(outside.value, 11);
      expect(inside.first).toBeCloseTo(outside.first, 11);
      expect(inside.second).toBeCloseTo(outside.second, 11);
    }
    expect(at(0)).toEqual({ value: 1, first: 0.5, second: expect.closeTo(1 / 3, 15) });
    for (const t of [-7, -0.4, 0.2, 3]) {
      const h = 1e-4;
      expect((at(t + h).value - at(t - h).value) / (2 * h) / at(t).first).toBeCloseTo(1, 6);
      expect((at(t + h).first - at(t - h).first) / (2 * h) / at(t).second).toBeCloseTo(1, 6);
    }
  });
});

it('refuses a power whose digits no longer tell the readings apart, in place of an index made of rounding', () => {
  const roughness = [8.6, 9.4, 10.3, 11.2, 9.9, 10.8, 9.1, 10.1];
  const metres = roughness.map((value) => value * 1e-9);
  for (const lambda of [2, 1.5])
    expect(fitPowerTransformation(metres, { lambda })).toMatchObject({ reason: 'outside-method' });
  expect(fitDistribution(metres, { distribution: 'box-cox', lambda: 2 })).toMatchObject({
    reason: 'outside-method',
  });
  expect(fitPowerTransformation(roughness, { lambda: 2 }).available).toBe(true);
  expect(fitPowerTransformation(metres, { lambda: 0.5 }).available).toBe(true);
  const diameters = roughness.map((value) => 500 + value / 100);
  expect(fitPowerTransformation(diameters, { lambda: -5 })).toMatchObject({ reason: 'outside-method' });
});

import fc from 'fast-check';
import { describe, expect, it, test } from 'vitest';
import { functionsOf } from '../../../src/distribution-fit/families.ts';
import {
  type Distribution,
  type DistributionName,
  distributionLowerTail,
  distributionQuantile,
  distributionUpperTail,
  type FittedDistribution,
  fitDistribution,
} from '../../../src/index.ts';
import { randomSource } from '../../../src/numerics/random.ts';

/** One distribution of each kind, as a part might have it. */
const examples: readonly Distribution[] = [
  { distribution: 'normal', parameters: { mu: 127, sigma: 0.18 } },
  { distribution: 'lognormal', parameters: { mu: -2.5, sigma: 0.3 } },
  { distribution: 'weibull', parameters: { shape: 2.2, scale: 0.4 } },
  { distribution: 'gamma', parameters: { shape: 3, scale: 0.02 } },
  { distribution: 'rayleigh', parameters: { sigma: 0.064 } },
  { distribution: 'exponential', parameters: { scale: 0.7 } },
  { distribution: 'folded-normal', parameters: { mu: 0.3, sigma: 0.2 } },
  { distribution: 'johnson-su', parameters: { gamma: -1, delta: 1.5, xi: 10, lambda: 1 } },
  { distribution: 'johnson-sb', parameters: { gamma: -0.5, delta: 0.8, xi: 2, lambda: 3 } },
  { distribution: 'box-cox', parameters: { lambda: 0.1, mu: -0.7, sigma: 0.33 } },
  { distribution: 'yeo-johnson', parameters: { lambda: 0.6, mu: 0.5, sigma: 0.6 } },
];
const named = examples.map((example) => [example.distribution, example] as const);

function sampleOf(example: Distribution, size: number, seed = 3): number[] {
  const random = randomSource(seed);
  const { draw } = functionsOf(example);
  return Array.from({ length: size }, () => draw(random));
}

function fitTo(values: ArrayLike<number>, distribution: DistributionName): FittedDistribution {
  const fitted = fitDistribution<DistributionName>(values, { distribution });
  if (!fitted.available) throw new Error(fitted.message);
  return fitted;
}

const logLikelihood = (values: readonly number[], distribution: Distribution) =>
  values.reduce((sum, x) => sum + functionsOf(distribution).logDensity(x), 0);

describe('a fit by maximum likelihood', () => {
  it.each(named)('%s: no parameters nearby make the values likelier', (name, example) => {
    const values = sampleOf(example, 150);
    const fitted = fitTo(values, name);
    expect(logLikelihood(values, fitted)).toBeCloseTo(fitted.logLikelihood, 8);
    expect(fitted.logLikelihood).toBeGreaterThanOrEqual(logLikelihood(values, example));
    for (const [key, value] of Object.entries(fitted.parameters))
      for (const change of [-1e-3, 1e-3, -0.02, 0.02]) {
        const moved = { ...fitted.parameters, [key]: value + change * Math.max(Math.abs(value), 0.05) };
        const worse = logLikelihood(values, { distribution: name, parameters: moved } as Distribution);
        // Outside a Johnson SB distribution a value has no density at all.
        if (Number.isFinite(worse)) expect(worse).toBeLessThan(fitted.logLikelihood);
      }
  });

  it.each(named)('%s: many values give back the parameters they were drawn with', (name, example) => {
    const fitted = fitTo(sampleOf(example, 6000), name);
    for (const probability of [0.00135, 0.5, 0.99865])
      expect(
        distributionQuantile(fitted, probability) / distributionQuantile(example, probability),
      ).toBeCloseTo(1, 1);
    // Critical value of A² at 0.1 % for known parameters (D'Agostino and Stephens 1986, table 4.2); for fitted ones less.
    expect(fitted.andersonDarling).toBeLessThan(6);
    expect(fitted.andersonDarling).toBeGreaterThan(0.05);
  });

  it.each(named.filter(([name]) => name !== 'yeo-johnson'))(
    '%s: does not depend on the unit',
    (name, example) => {
      const values = sampleOf(example, 60, 11);
      const fitted = fitTo(values, name);
      // Powers of values that are all close to 0 differ from −1/lambda in the last digits only.
      for (const unit of name === 'box-cox' ? [1000, 1 / 25.4] : [1000, 1 / 25.4, 1e-150, 1e120]) {
        const other = fitTo(
          values.map((value) => value * unit),
          name,
        );
        for (const key of ['lowerPercentile', 'median', 'upperPercentile'] as const) {
          const ratio = other.quantiles[key] / (fitted.quantiles[key] * unit);
          expect(Math.abs(ratio - 1)).toBeLessThan(name.startsWith('johnson') ? 1e-7 : 1e-10);
        }
        expect(other.andersonDarling).toBeCloseTo(fitted.andersonDarling, 7);
        expect(other.logLikelihood + values.length * Math.log(unit)).toBeCloseTo(fitted.logLikelihood, 7);
      }
    },
  );

  it.each(named)('%s: does not depend on the order, and leaves the values alone', (name, example) => {
    const values = Object.freeze(sampleOf(example, 40, 5));
    expect(fitTo([...values].reverse(), name)).toEqual(fitTo(values, name));
    expect(fitTo(Float64Array.from(values), name)).toEqual(fitTo(values, name));
  });

  it.each(['normal', 'johnson-su', 'johnson-sb'] as const)('%s: moves along with the origin', (name) => {
    const values = sampleOf(examples.find((one) => one.distribution === name)!, 100, 8);
    const fitted = fitTo(values, name);
    const moved = fitTo(
      values.map((value) => value + 64),
      name,
    );
    expect(moved.quantiles.median).toBeCloseTo(fitted.quantiles.median + 64, 8);
    expect(moved.quantiles.upperPercentile).toBeCloseTo(fitted.quantiles.upperPercentile + 64, 6);
    expect(moved.logLikelihood).toBeCloseTo(fitted.logLikelihood, 8);
  });

  it.each(['johnson-su', 'johnson-sb', 'normal'] as const)('%s: turns over with the sign', (name) => {
    const values = sampleOf(examples.find((one) => one.distribution === name)!, 100, 8);
    const fitted = fitTo(values, name);
    const mirrored = fitTo(
      values.map((value) => -value),
      name,
    );
    expect(-mirrored.quantiles.lowerPercentile).toBeCloseTo(fitted.quantiles.upperPercentile, 6);
    expect(mirrored.logLikelihood).toBeCloseTo(fitted.logLikelihood, 8);
  });

  it('holds a Box-Cox power where asked', () => {
    const values = sampleOf(examples[1]!, 30);
    const logarithm = fitDistribution(values, { distribution: 'box-cox', lambda: 0 });
    const lognormal = fitTo(values, 'lognormal');
    expect(logarithm).toMatchObject({ available: true, parameters: { lambda: 0 } });
    if (!logarithm.available) return;
    expect(logarithm.quantiles.upperPercentile).toBeCloseTo(lognormal.quantiles.upperPercentile, 12);
    expect(logarithm.logLikelihood).toBeCloseTo(lognormal.logLikelihood, 9);
    const none = fitDistribution(values, { distribution: 'yeo-johnson', lambda: 1 });
    if (!none.available) throw new Error(none.message);
    expect(none.quantiles.upperPercentile).toBeCloseTo(fitTo(values, 'normal').quantiles.upperPercentile, 12);
  });

  it('takes the half-normal end where it is the likelier one', () => {
    expect(fitTo([0.1, 0.2, 0.05, 0.9, 0.3], 'folded-normal').parameters).toEqual({
      mu: 0,
      sigma: expect.closeTo(Math.sqrt((0.01 + 0.04 + 0.0025 + 0.81 + 0.09) / 5), 14),
    });
    // One value far out: two peaks, at 0 and near 10. Worked out in 30 digits: −27.4468 at 0 against −27.4663.
    const fitted = fitTo([9.8, 10.1, 10.3, 9.9, 10.0, 10.2, 9.7, 33.0], 'folded-normal');
    expect(fitted.parameters).toMatchObject({ mu: 0 });
    expect(fitted.logLikelihood).toBeCloseTo(-27.4468389875, 9);
  });
});

describe('what cannot be fitted', () => {
  it('names the entry that a distribution cannot hold, and the fix', () => {
    for (const name of ['lognormal', 'weibull', 'gamma', 'rayleigh', 'box-cox'] as const) {
      expect(() => fitDistribution([0.1, 0, 0.3, 0.4], { distribution: name })).toThrow(
        expect.objectContaining({
          code: 'out-of-range',
          argument: 'values.1',
          message: expect.stringContaining('half a gauge step'),
        }),
      );
      expect(() => fitDistribution([0.1, 0.2, -0.3, 0.4], { distribution: name })).toThrow(
        expect.objectContaining({
          code: 'out-of-range',
          argument: 'values.2',
          value: -0.3,
          message: expect.stringContaining('johnson-su'),
        }),
      );
    }
    for (const name of ['exponential', 'folded-normal'] as const) {
      expect(fitDistribution([0.1, 0, 0.3], { distribution: name }).available).toBe(true);
      expect(() => fitDistribution([0.1, 0, -0.3], { distribution: name })).toThrow(
        expect.objectContaining({ code: 'out-of-range', argument: 'values.2' }),
      );
    }
    for (const name of ['normal', 'yeo-johnson'] as const)
      expect(fitDistribution([-0.4, -0.1, 0, 0.1, 0.3], { distribution: name }).available).toBe(true);
  });

  it('refuses other bad arguments by name', () => {
    const refusal = (values: number[], options: object) => () =>
      fitDistribution(values, options as { distribution: 'normal' });
    expect(refusal([1, Number.NaN], { distribution: 'normal' })).toThrow(
      expect.objectContaining({ code: 'not-finite', argument: 'values.1' }),
    );
    expect(refusal([], { distribution: 'normal' })).toThrow(
      expect.objectContaining({ code: 'empty', argument: 'values' }),
    );
    expect(refusal([1, 2], { distribution: 'cauchy' })).toThrow(
      expect.objectContaining({ code: 'unknown-name', argument: 'options.distribution' }),
    );
    expect(refusal([1, 2], { distribution: 'normal', lambda: 1 })).toThrow(
      expect.objectContaining({ code: 'out-of-range', argument: 'options.lambda' }),
    );
    expect(refusal([1, 2, 3], { distribution: 'box-cox', lambda: 20.1 })).toThrow(
      expect.objectContaining({ code: 'out-of-range', argument: 'options.lambda' }),
    );
    expect(refusal([1, 2, 3], { distribution: 'box-cox', lambda: Number.NaN })).toThrow(
      expect.objectContaining({ code: 'not-finite', argument: 'options.lambda' }),
    );
    expect(fitDistribution([1, 2, 3], { distribution: 'box-cox', lambda: -20 }).available).toBeDefined();
  });

  it('says when values have no shape or are too few', () => {
    const fewest = {
      normal: 2,
      rayleigh: 2,
      'box-cox': 3,
      'yeo-johnson': 3,
      'johnson-su': 5,
      'johnson-sb': 5,
    } as const;
    for (const [name, least] of Object.entries(fewest) as [DistributionName, number][]) {
      const values = Array.from({ length: least - 1 }, (_, index) => index + 1);
      expect(fitDistribution(values, { distribution: name })).toMatchObject({
        available: false,
        reason: 'too-few-values',
        message: expect.stringContaining(`at least ${least} values`),
      });
      expect(fitDistribution(Array<number>(least).fill(0.3), { distribution: name })).toMatchObject({
        available: false,
        reason: 'no-variation',
      });
    }
    expect(fitDistribution([1, 4], { distribution: 'normal' })).toMatchObject({
      parameters: { mu: 2.5, sigma: 1.5 },
    });
  });

  it('has no Johnson fit where the likelihood only climbs towards a simpler shape', () => {
    // Evenly spread values have lighter tails than any Johnson SU distribution.
    const even = Array.from({ length: 40 }, (_, index) => index);
    expect(fitDistribution(even, { distribution: 'johnson-su' })).toMatchObject({
      available: false,
      reason: 'no-maximum',
    });
    expect(fitDistribution([1, 2, 3, 4, 100], { distribution: 'johnson-sb' })).toMatchObject({
      available: false,
      reason: 'no-maximum',
    });
  });

  it('has no upper percentile beyond the end of a negative power', () => {
    expect(fitDistribution([0.1, 0.2, 0.3, 5], { distribution: 'box-cox', lambda: -1 })).toMatchObject({
      available: false,
      reason: 'outside-method',
    });
    expect(fitDistribution([1e-300, 1e300, 1], { distribution: 'lognormal' })).toMatchObject({
      reason: 'outside-method',
    });
  });
});

describe('tails and quantiles', () => {
  test.each(named)(
    '%s: the two tails make one, fall together, and give back the probability',
    (_, example) => {
      const places = [1e-9, 0.00135, 0.1, 0.5, 0.8, 0.99865].map(
        (p) => [p, distributionQuantile(example, p)] as const,
      );
      let previous = -Infinity;
      for (const [probability, x] of places) {
        expect(x).toBeGreaterThan(previous);
        previous = x;
        expect(distributionLowerTail(example, x) / probability).toBeCloseTo(1, 10);
        expect(distributionUpperTail(example, x)).toBeCloseTo(1 - probability, 10);
      }
      fc.assert(
        fc.property(fc.double({ min: -5, max: 300, noNaN: true }), (x) => {
          const [lower, upper] = [distributionLowerTail(example, x), distributionUpperTail(example, x)];
          expect(lower + upper).toBeCloseTo(1, 12);
          expect(distributionLowerTail(example, x + 0.01)).toBeGreaterThanOrEqual(lower);
          expect(distributionUpperTail(example, x + 0.01)).toBeLessThanOrEqual(upper);
        }),
        { numRuns: 60 },
      );
    },
  );

  test.each(named)('%s: the density is the slope of the lower tail', (_, example) => {
    const { logDensity } = functionsOf(example);
    for (const probability of [0.01, 0.3, 0.9]) {
      const x = distributionQuantile(example, probability);
      const h = 1e-5 * (distributionQuantile(example, 0.9) - distributionQuantile(example, 0.1));
      const slope = (distributionLowerTail(example, x + h) - distributionLowerTail(example, x - h)) / (2 * h);
      expect(Math.exp(logDensity(x)) / slope).toBeCloseTo(1, 6);
    }
  });

  test.each(named)('%s: logarithms of the tails go on where the tails end', (name, example) => {
    const { logLowerTail, logUpperTail, lowerTail, upperTail } = functionsOf(example);
    for (const probability of [1e-9, 0.2, 0.7, 0.9999]) {
      const x = distributionQuantile(example, probability);
      expect(logLowerTail(x)).toBeCloseTo(Math.log(lowerTail(x)), 9);
      expect(logUpperTail(x)).toBeCloseTo(Math.log(upperTail(x)), 9);
    }
    const far = {
      normal: 140,
      'folded-normal': 12,
      rayleigh: 4,
      gamma: 20,
      exponential: 600,
      weibull: 12,
    } as Record<string, number>;
    if (far[name] === undefined) return;
    expect(upperTail(far[name])).toBeLessThan(1e-300);
    expect(Number.isFinite(logUpperTail(far[name]))).toBe(true);
    expect(logUpperTail(far[name])).toBeLessThan(-690);
  });

  test('nothing lies outside a bounded distribution', () => {
    const bounded = examples.find((one) => one.distribution === 'johnson-sb')!;
    expect([distributionLowerTail(bounded, 2), distributionUpperTail(bounded, 2)]).toEqual([0, 1]);
    expect([distributionLowerTail(bounded, 5), distributionUpperTail(bounded, 5)]).toEqual([1, 0]);
    for (const name of ['lognormal', 'weibull', 'gamma', 'rayleigh', 'exponential', 'folded-normal']) {
      const positive = examples.find((one) => one.distribution === name)!;
      for (const x of [0, -1]) {
        expect(distributionLowerTail(positive, x)).toBe(0);
        expect(distributionUpperTail(positive, x)).toBe(1);
      }
    }
  });

  test('a positive Box-Cox power keeps what lies beyond its end at 0', () => {
    const power: Distribution = { distribution: 'box-cox', parameters: { lambda: 0.5, mu: -1, sigma: 0.5 } };
    // The square root ends at y = −2, two standard deviations below the mean: 0.0227501319481792 of a normal distribution.
    expect(distributionLowerTail(power, 0)).toBeCloseTo(0.0227501319481792, 14);
    expect(distributionLowerTail(power, -1)).toBe(0);
    expect(distributionQuantile(power, 0.01)).toBe(0);
    expect(distributionQuantile(power, 0.5)).toBeCloseTo(0.25, 14);
  });

  test('refuses impossible parameters, places and probabilities by name', () => {
    const weibull = (shape: number, scale = 1): Distribution => ({
      distribution: 'weibull',
      parameters: { shape, scale },
    });
    expect(() => distributionLowerTail(weibull(0), 1)).toThrow(
      expect.objectContaining({ code: 'out-of-range', argument: 'fitted.parameters.shape' }),
    );
    expect(() => distributionUpperTail(weibull(1, Number.NaN), 1)).toThrow(
      expect.objectContaining({ code: 'not-finite', argument: 'fitted.parameters.scale' }),
    );
    expect(() => distributionLowerTail(weibull(1), Infinity)).toThrow(
      expect.objectContaining({ code: 'not-finite', argument: 'x' }),
    );
    expect(() => distributionQuantile(weibull(1), 1)).toThrow(
      expect.objectContaining({ code: 'out-of-range', argument: 'probability' }),
    );
    expect(() => distributionQuantile(weibull(1e-3), 0.9)).toThrow(
      expect.objectContaining({ code: 'out-of-range', argument: 'fitted.parameters' }),
    );
    expect(() =>
      distributionLowerTail({ distribution: 'folded-normal', parameters: { mu: -1, sigma: 1 } }, 1),
    ).toThrow(expect.objectContaining({ code: 'out-of-range', argument: 'fitted.parameters.mu' }));
    expect(() => distributionLowerTail({ distribution: 'beta', parameters: {} } as never, 1)).toThrow(
      expect.objectContaining({ code: 'unknown-name', argument: 'fitted.distribution' }),
    );
  });
});

import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { linearRegression, regressionPrediction } from '../../../src/index.ts';
import { randomSource } from '../../../src/numerics/random.ts';
import { known } from '../known.ts';

const x = [1, 2, 3, 4, 6];
const y = [2.1, 3.9, 6.2, 7.8, 12.1];

describe('linear regression', () => {
  test('of a line agrees with an independent library', () => {
    // Source: linregress of scipy 1.17.1.
    const fit = known(linearRegression(x, y));
    const [intercept, slope] = fit.coefficients;
    expect(slope!.estimate).toBeCloseTo(1.9986486486486486, 13);
    expect(intercept!.estimate).toBeCloseTo(0.024324324324323854, 12);
    expect(slope!.standardError).toBeCloseTo(0.04931352467232204, 13);
    expect(intercept!.standardError).toBeCloseTo(0.17916493252314147, 13);
    expect(slope!.pValue! / 3.3052821274348104e-5).toBeCloseTo(1, 10);
    expect(fit.pValue! / 3.3052821274348104e-5).toBeCloseTo(1, 10);
    expect(fit.rSquared).toBeCloseTo(0.998176994445651, 13);
    expect(fit.degreesOfFreedom).toBe(3);
    expect(fit.residuals).toHaveLength(5);
  });

  test('through the origin takes its sums of squares about 0', () => {
    // Source: Σxy/Σx² and 1 − Σ(y − bx)²/Σy² by numpy 2.4.6.
    const fit = known(linearRegression(x, y, { intercept: false }));
    expect(fit.coefficients).toHaveLength(1);
    expect(fit.coefficients[0]!.estimate).toBeCloseTo(2.004545454545455, 13);
    expect(fit.rSquared).toBeCloseTo(0.9995905304600793, 13);
    expect(fit.degreesOfFreedom).toBe(4);
  });

  test('follows units, and does not mind the order of values', () => {
    const data = fc.array(fc.tuple(fc.integer({ min: -99, max: 99 }), fc.integer({ min: -999, max: 999 })), {
      minLength: 4,
      maxLength: 12,
    });
    fc.assert(
      fc.property(data, fc.constantFrom(0.001, 25.4, 1e100), (pairs, unit) => {
        const plain = linearRegression(
          pairs.map(([a]) => a),
          pairs.map(([, b]) => b),
        );
        const other = linearRegression(
          [...pairs].reverse().map(([a]) => a),
          [...pairs].reverse().map(([, b]) => b * unit),
        );
        expect(other.available).toBe(plain.available);
        if (!plain.available || !other.available) return;
        const close = (actual: number, wanted: number, size: number) =>
          expect(Math.abs(actual - wanted)).toBeLessThan(1e-11 * size + 1e-300);
        close(other.coefficients[1]!.estimate / unit, plain.coefficients[1]!.estimate, 1000);
        close(other.residualStandardDeviation / unit, plain.residualStandardDeviation, 1000);
        close(other.rSquared, plain.rSquared, 1);
        close(
          plain.regressionSumOfSquares + plain.residualSumOfSquares,
          pairs.reduce(
            (sum, [, b]) => sum + (b - pairs.reduce((all, [, c]) => all + c, 0) / pairs.length) ** 2,
            0,
          ),
          1e7,
        );
      }),
    );
  });

  test('has intervals that hold the truth as often as they say', () => {
    const source = randomSource(5);
    let held = 0;
    let predicted = 0;
    const runs = 800;
    for (let run = 0; run < runs; run++) {
      const fit = known(
        linearRegression(
          x,
          x.map((at) => 3 - at / 2 + source.normal()),
          { confidence: 0.9 },
        ),
      );
      if (fit.coefficients[1]!.lower < -0.5 && fit.coefficients[1]!.upper > -0.5) held++;
      const [lower, upper] = regressionPrediction(fit, 5, { confidence: 0.8 }).predictionInterval;
      const next = 0.5 + source.normal();
      if (lower < next && next < upper) predicted++;
    }
    // Four standard deviations of a binomial count.
    expect(Math.abs(held - 0.9 * runs)).toBeLessThan(4 * Math.sqrt(runs * 0.09));
    expect(Math.abs(predicted - 0.8 * runs)).toBeLessThan(4 * Math.sqrt(runs * 0.16));
  });

  test('of an exact fit leaves no ratio to judge by', () => {
    const fit = known(linearRegression([1, 2, 3], [2, 4, 6]));
    expect(fit.fRatio).toBeNull();
    expect(fit.pValue).toBeNull();
    expect(fit.coefficients.map(({ pValue }) => pValue)).toEqual([null, null]);
    expect(fit.rSquared).toBe(1);
  });

  test('has no answer for dependent predictors and for equal values', () => {
    expect(
      linearRegression(
        [
          [1, 2],
          [2, 4],
          [3, 6],
          [4, 8],
        ],
        [1, 3, 2, 4],
      ),
    ).toMatchObject({ available: false, reason: 'singular-covariance' });
    expect(linearRegression([3, 3, 3], [1, 2, 4])).toMatchObject({
      available: false,
      reason: 'singular-covariance',
    });
    expect(linearRegression([1, 2, 3], [0, 0, 0])).toMatchObject({
      available: false,
      reason: 'no-variation',
    });
  });

  test.each([
    [() => linearRegression([], []), 'values: '],
    [() => linearRegression([1, 2], [1, 2]), 'values: At least 3'],
    [() => linearRegression([1, 2], [1, 2, 3]), 'predictors: '],
    [() => linearRegression([[1, 2], [1]], [1, 2]), 'predictors.1: '],
    [() => linearRegression([[], []], [1, 2]), 'predictors.0: '],
    [() => linearRegression([1, Infinity, 2], [1, 2, 3]), 'predictors.1.0: '],
    [() => linearRegression([1, 2, 3], [1, 2, 4], { confidence: 1 }), 'options.confidence: '],
    [() => linearRegression([[...new Array(51).keys()]], [1]), 'predictors.0: At most 50'],
    [() => linearRegression([1e-300, 2e-300, 4e-300], [1e300, 2e300, 3e300]), 'values: The results leave'],
    [
      () =>
        linearRegression(
          Array.from({ length: 8000 }, (_, k) => new Array(50).fill(k)),
          new Array(8000).fill(1),
        ),
      'values: values · coefficients²',
    ],
  ])('refuses and names the field (%#)', (call, words) => {
    expect(call).toThrow(words);
  });
});

describe('prediction from a regression', () => {
  const fit = known(linearRegression(x, y));
  test('agrees with the formula', () => {
    // Source: ŷ ± t s √(h), √(1 + h), h = 1/n + (x − x̄)²/Sxx, by numpy 2.4.6 and scipy 1.17.1.
    const near = regressionPrediction(fit, 3.5, { confidence: 0.9 });
    expect(near.value).toBeCloseTo(7.019594594594594, 12);
    expect(near.meanInterval[0]).toBeCloseTo(6.816917361968518, 12);
    expect(near.predictionInterval[1]).toBeCloseTo(7.509908439270153, 12);
    const far = regressionPrediction(fit, [10], { confidence: 0.9 });
    expect(far.meanInterval[0]).toBeCloseTo(19.196786083521296, 12);
    expect(far.predictionInterval[1]).toBeCloseTo(20.93923197725109, 12);
    expect(far.confidence).toBe(0.9);
  });

  test('refuses predictors that do not fit', () => {
    expect(() => regressionPrediction(fit, [1, 2])).toThrow('predictor: ');
    expect(() => regressionPrediction(fit, Number.NaN)).toThrow('predictor.0: ');
    expect(() => regressionPrediction(fit, 1e308)).toThrow('leaves the range');
    expect(() => regressionPrediction(fit, 1, { confidence: 0 })).toThrow('options.confidence');
  });

  test('refuses a regression whose parts do not fit each other', () => {
    expect(() => regressionPrediction({ ...fit, inverseNormalMatrix: [] }, 1)).toThrow(
      'inverseNormalMatrix: ',
    );
    expect(() => regressionPrediction({ ...fit, inverseNormalMatrix: [[1, 2], [3]] }, 1)).toThrow(
      'inverseNormalMatrix: ',
    );
  });
});

import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { leastSquares } from '../../../src/numerics/least-squares.ts';
import {
  choleskyFactor,
  logDeterminant,
  type Matrix,
  quadraticForm,
  solveLinear,
  solveWithCholesky,
} from '../../../src/numerics/matrix.ts';
import { preciseSum } from '../../../src/numerics/sum.ts';

const entry = fc.integer({ min: -9, max: 9 });
const square = (size: number) =>
  fc.array(fc.array(entry, { minLength: size, maxLength: size }), { minLength: size, maxLength: size });
const times = (a: Matrix, v: readonly number[]) =>
  a.map((row) => row.reduce((sum, x, k) => sum + x * v[k]!, 0));

describe('matrices', () => {
  test('a factor times its mirror image is the matrix, and solves its systems', () => {
    fc.assert(
      fc.property(square(4), fc.array(entry, { minLength: 4, maxLength: 4 }), (a, v) => {
        const matrix = a.map((row, i) => a.map((other, j) => times([row], other)[0]! + (i === j ? 1 : 0)));
        const factor = choleskyFactor(matrix)!;
        factor.forEach((row, i) => {
          factor.forEach((other, j) => {
            expect(times([row], other)[0]).toBeCloseTo(matrix[i]![j]!, 9);
          });
          expect(row.slice(i + 1).every((x) => x === 0)).toBe(true);
        });
        const x = solveWithCholesky(factor, v);
        times(matrix, x).forEach((value, i) => {
          expect(value).toBeCloseTo(v[i]!, 8);
        });
        expect(quadraticForm(factor, v)).toBeCloseTo(times([v], x)[0]!, 8);
        solveLinear(
          matrix,
          v.map((value) => [value]),
        )!.forEach(([value], i) => {
          expect(value).toBeCloseTo(x[i]!, 8);
        });
      }),
    );
  });

  test('a system with several right-hand sides, a zero pivot and rows of very different size', () => {
    const solution = solveLinear(
      [
        [0, 2e-200],
        [3e200, 4e200],
      ],
      [
        [2e-200, 4e-200],
        [7e200, 11e200],
      ],
    )!;
    expect(solution[0]).toEqual([1, 1]);
    expect(solution[1]).toEqual([1, 2]);
  });

  test('singular matrices are said to be so', () => {
    expect(
      solveLinear(
        [
          [1, 2],
          [2, 4],
        ],
        [[1], [2]],
      ),
    ).toBeNull();
    expect(solveLinear([[0]], [[1]])).toBeNull();
    expect(
      choleskyFactor([
        [1, 1],
        [1, 1],
      ]),
    ).toBeNull();
    expect(
      choleskyFactor([
        [1, 2],
        [2, 1],
      ]),
    ).toBeNull();
    expect(choleskyFactor([[0]])).toBeNull();
    // A covariance of two readings that are three times each other leaves only rounding.
    expect(
      choleskyFactor([
        [0.1 * 0.1, 0.1 * 0.3],
        [0.1 * 0.3, 0.3 * 0.3],
      ]),
    ).toBeNull();
  });

  test('the logarithm of a determinant', () => {
    expect(
      logDeterminant(
        choleskyFactor([
          [4, 2],
          [2, 3],
        ])!,
      ),
    ).toBeCloseTo(Math.log(8), 14);
  });
});

describe('least squares', () => {
  const line = [1, 2, 4, 7].map((x) => [1, x]);

  test('residuals are at right angles to every column', () => {
    fc.assert(
      fc.property(
        fc.array(fc.array(entry, { minLength: 3, maxLength: 3 }), { minLength: 5, maxLength: 12 }),
        fc.array(fc.double({ min: -5, max: 5, noNaN: true }), { minLength: 12, maxLength: 12 }),
        (design, values) => {
          const given = values.slice(0, design.length);
          const fit = leastSquares(design, given);
          if (fit === null) return;
          const residuals = design.map((row, i) => given[i]! - times([row], fit.coefficients)[0]!);
          for (let j = 0; j < 3; j++)
            expect(
              times(
                [residuals],
                design.map((row) => row[j]!),
              )[0],
            ).toBeCloseTo(0, 9);
          residuals.forEach((residual, i) => {
            expect(fit.residuals[i]).toBeCloseTo(residual, 11);
          });
          expect(fit.residualSumOfSquares).toBeCloseTo(times([residuals], residuals)[0]!, 10);
          expect(fit.degreesOfFreedom).toBe(design.length - 3);
          fit.standardErrors.forEach((error, j) => {
            expect(error).toBeCloseTo(
              fit.residualStandardDeviation * Math.sqrt(fit.inverseNormalMatrix[j]![j]!),
              10,
            );
          });
        },
      ),
    );
  });

  test('the inverse of the normal matrix is that', () => {
    const { inverseNormalMatrix } = leastSquares(line, [1, 3, 2, 5])!;
    // XᵀX = [[4, 14], [14, 70]], determinant 84.
    [70 / 84, -14 / 84, -14 / 84, 4 / 84].forEach((expected, k) => {
      expect(inverseNormalMatrix[k >> 1]![k & 1]).toBeCloseTo(expected, 15);
    });
  });

  test('units may be tiny or huge', () => {
    const values = [1, 3, 2, 5];
    const plain = leastSquares(line, values)!;
    const scaled = leastSquares(
      line.map(([one, x]) => [one!, x! * 2 ** 300]),
      values.map((y) => y * 2 ** -200),
    )!;
    expect(scaled.coefficients[0]).toBe(plain.coefficients[0]! * 2 ** -200);
    expect(scaled.coefficients[1]).toBe(plain.coefficients[1]! * 2 ** -500);
    expect(scaled.standardErrors[1]).toBe(plain.standardErrors[1]! * 2 ** -500);
    expect(scaled.residualStandardDeviation).toBe(plain.residualStandardDeviation * 2 ** -200);
  });

  test('columns that depend on each other, and too few values, have no answer', () => {
    expect(
      leastSquares(
        [
          [1, 2, 4],
          [1, 3, 6],
          [1, 5, 10],
          [1, 7, 14],
        ],
        [1, 2, 3, 4],
      ),
    ).toBeNull();
    expect(
      leastSquares(
        [
          [1, 0.1],
          [3, 0.3],
          [7, 0.7],
        ],
        [1, 2, 4],
      ),
    ).toBeNull();
    expect(leastSquares([[0], [0]], [1, 2])).toBeNull();
    expect(
      leastSquares(
        [
          [1, 2],
          [1, 3],
        ],
        [1, 2],
      ),
    ).toBeNull();
    expect(leastSquares([], [])).toBeNull();
  });
});

test('a compensated sum keeps what a plain one loses', () => {
  expect(preciseSum([1e16, 1, 1, 1, -1e16])).toBe(3);
  expect(preciseSum([1, 1e100, 1, -1e100])).toBe(2);
  expect(preciseSum(new Float64Array(1000).fill(0.1))).toBe(100);
  expect(preciseSum([])).toBe(0);
  expect(preciseSum([1e308, 1e308])).toBe(Infinity);
});

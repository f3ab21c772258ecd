/** NIST Statistical Reference Datasets, linear regression: digits reached against the certified values. */
import { afterAll, describe, expect, test } from 'vitest';
import { linearRegression } from '../../src/index.ts';
import { digitsReached, digitsTable, fewestDigits } from './digits-reached.ts';
import { readCases } from './run-cases.ts';

interface Inputs {
  readonly x: readonly (number | readonly number[])[];
  readonly y?: readonly number[];
  readonly degree?: number;
  readonly polynomialCoefficients?: readonly string[];
  readonly errorPattern?: readonly number[];
  readonly errorScale?: number;
}

/** The polynomials are whole numbers or whole multiples of 1e-5 at whole x, so the values are exact up to one rounding. */
function valuesOf({ x, y, polynomialCoefficients, errorPattern, errorScale }: Inputs): readonly number[] {
  if (y !== undefined) return y;
  const scaled = polynomialCoefficients!.map((coefficient) => BigInt(Math.round(Number(coefficient) * 1e5)));
  return (x as readonly number[]).map((value, index) => {
    const polynomial = scaled.reduce(
      (sum, coefficient, power) => sum + coefficient * BigInt(value) ** BigInt(power),
      0n,
    );
    return Number(polynomial + BigInt(errorScale! * errorPattern![index]!) * 100_000n) / 1e5;
  });
}

/**
 * Digits asked for. The values of Wampler2 have five decimals and are no binary fractions: rounding each to a double
 * already moves the smaller coefficients by up to 1e-12.
 */
const asked: Record<string, number> = { 'strd-wampler2': 12 };

const figures = ['coefficients', 'standard errors', 'residual s', 'R squared', 'F'];

describe('reference cases: strd-regression', () => {
  const cases = readCases('strd-regression');
  const rows: { id: string; digits: number[] }[] = [];
  for (const { id, inputs, expected } of cases) {
    test(id, () => {
      const given = inputs as unknown as Inputs;
      const predictors = given.x.map((x) =>
        typeof x === 'number' ? Array.from({ length: given.degree! }, (_, power) => x ** (power + 1)) : x,
      );
      const result = linearRegression(predictors, valuesOf(given));
      if (!result.available) throw new Error(result.message);
      const certified = expected as Record<string, string>;
      const lists = expected as Record<string, readonly string[]>;
      const digits = [
        fewestDigits(
          result.coefficients.map(({ estimate }) => estimate),
          lists.coefficients!,
        ),
        fewestDigits(
          result.coefficients.map(({ standardError }) => standardError),
          lists.standardErrors!,
        ),
        digitsReached(result.residualStandardDeviation, certified.residualStandardDeviation!),
        digitsReached(result.rSquared, certified.rSquared!),
      ];
      // An exact fit has no F in the certified values.
      if (expected.fStatistic !== null) digits.push(digitsReached(result.fRatio!, certified.fStatistic!));
      for (const field of ['residualSumOfSquares', 'regressionSumOfSquares'] as const)
        if (field in expected)
          expect(digitsReached(result[field], certified[field]!)).toBeGreaterThanOrEqual(13);
      for (const digit of digits) expect(digit).toBeGreaterThanOrEqual(asked[id] ?? 13);
      rows.push({ id, digits });
    });
  }
  test('the file still holds its 7 cases', () => expect(cases).toHaveLength(7));
  afterAll(() => {
    process.stdout.write(digitsTable(figures, rows));
    process.stdout.write(`reference cases: strd-regression ${rows.length} of ${cases.length}\n`);
  });
});

import {
  add,
  type DoubleDouble,
  divide,
  exactProduct,
  exactSum,
  multiply,
  negative,
  squareRoot,
} from './double-double.ts';
import type { Matrix } from './matrix.ts';

export interface LeastSquares {
  readonly coefficients: readonly number[];
  readonly standardErrors: readonly number[];
  /** Inverse of designᵀ·design: times the residual variance it is the covariance of the coefficients. */
  readonly inverseNormalMatrix: Matrix;
  readonly residuals: readonly number[];
  /** What each column, in turn, takes off the sum of squares that the columns before it leave. */
  readonly sequentialSumsOfSquares: readonly number[];
  readonly residualSumOfSquares: number;
  readonly residualStandardDeviation: number;
  readonly degreesOfFreedom: number;
}

interface Column {
  readonly high: Float64Array;
  readonly low: Float64Array;
  /** The column was multiplied by this power of two. */
  readonly scale: number;
}

/**
 * Coefficients c that make Σ(values − design·c)² least, one row of the design a value. Null where a column depends on
 * the others (to 15 digits) or where there are no more values than columns, so that nothing is left for the residuals.
 *
 * Orthogonalisation of the columns with the values as the last one, in arithmetic of 32 digits: ill-conditioned designs
 * (powers, years) keep all the digits that the data hold.
 *
 * Source: Å. Björck, Solving linear least squares problems by Gram-Schmidt orthogonalization, BIT 7 (1967) 1-21.
 */
export function leastSquares(design: Matrix, values: readonly number[]): LeastSquares | null {
  const count = values.length;
  const size = design[0]?.length ?? 0;
  const degreesOfFreedom = count - size;
  if (size === 0 || degreesOfFreedom <= 0) return null;
  const columns = Array.from({ length: size }, (_, j) => column(count, (i) => design[i]![j]!));
  const response = column(count, (i) => values[i]!);
  const triangle: DoubleDouble[][] = [];
  const projections: DoubleDouble[] = [];
  for (let k = 0; k < size; k++) {
    const current = columns[k]!;
    const square = dot(current, current);
    if (!(Math.sqrt(square.high) > 1e-15 * Math.sqrt(count) * maximum(design, k) * current.scale))
      return null;
    const row = new Array<DoubleDouble>(size).fill(one);
    for (let j = k + 1; j < size; j++) row[j] = removeFrom(columns[j]!, current, square);
    projections.push(removeFrom(response, current, square));
    triangle.push(row);
    row[k] = square;
  }
  const rest = dot(response, response);
  const inverse = invertUnitTriangle(triangle);
  const coefficients = Array.from({ length: size }, (_, i) => {
    let sum = zero;
    for (let j = i; j < size; j++) sum = add(sum, multiply(inverse[i]![j]!, projections[j]!));
    return (sum.high * columns[i]!.scale) / response.scale;
  });
  const inverseNormal = (i: number, j: number) => {
    let sum = zero;
    for (let k = Math.max(i, j); k < size; k++)
      sum = add(sum, divide(multiply(inverse[i]![k]!, inverse[j]![k]!), triangle[k]![k]!));
    return sum;
  };
  const scaledVariance = divide(rest, { high: degreesOfFreedom, low: 0 });
  return {
    coefficients,
    standardErrors: coefficients.map(
      (_, i) =>
        (squareRoot(multiply(scaledVariance, inverseNormal(i, i))).high * columns[i]!.scale) / response.scale,
    ),
    inverseNormalMatrix: coefficients.map((_, i) =>
      coefficients.map((_, j) => inverseNormal(i, j).high * columns[i]!.scale * columns[j]!.scale),
    ),
    residuals: Array.from(response.high, (high) => high / response.scale),
    sequentialSumsOfSquares: projections.map(
      (multiple, k) =>
        multiply(multiply(multiple, multiple), triangle[k]![k]!).high / response.scale / response.scale,
    ),
    residualSumOfSquares: rest.high / response.scale / response.scale,
    residualStandardDeviation: squareRoot(scaledVariance).high / response.scale,
    degreesOfFreedom,
  };
}

const zero: DoubleDouble = { high: 0, low: 0 };
const one: DoubleDouble = { high: 1, low: 0 };

/** A column scaled by a power of two, which rounds nothing, so that squares neither overflow nor vanish. */
function column(count: number, entry: (i: number) => number): Column {
  const high = Float64Array.from({ length: count }, (_, i) => entry(i));
  let largest = 0;
  for (const value of high) largest = Math.max(largest, Math.abs(value));
  const scale = largest === 0 ? 1 : 2 ** -Math.min(1000, Math.max(-1000, Math.floor(Math.log2(largest))));
  for (let i = 0; i < count; i++) high[i]! *= scale;
  return { high, low: new Float64Array(count), scale };
}

function maximum(design: Matrix, column: number): number {
  let largest = 0;
  for (const row of design) largest = Math.max(largest, Math.abs(row[column]!));
  return largest;
}

function dot(a: Column, b: Column): DoubleDouble {
  let sum = zero;
  for (let i = 0; i < a.high.length; i++) {
    const product = exactProduct(a.high[i]!, b.high[i]!);
    const cross = a.high[i]! * b.low[i]! + a.low[i]! * b.high[i]!;
    sum = add(sum, { high: product.high, low: product.low + cross });
  }
  return sum;
}

/** Takes its part along `direction` off `target`, and returns the multiple taken. */
function removeFrom(target: Column, direction: Column, square: DoubleDouble): DoubleDouble {
  const multiple = divide(dot(direction, target), square);
  const minus = negative(multiple);
  for (let i = 0; i < target.high.length; i++) {
    const part = multiply({ high: direction.high[i]!, low: direction.low[i]! }, minus);
    const next = add({ high: target.high[i]!, low: target.low[i]! }, part);
    target.high[i] = next.high;
    target.low[i] = next.low;
  }
  return multiple;
}

/** Inverse of the triangle with ones on its diagonal (its own diagonal holds the squared lengths). */
function invertUnitTriangle(triangle: readonly (readonly DoubleDouble[])[]): DoubleDouble[][] {
  const size = triangle.length;
  const inverse = triangle.map((_, i) => triangle.map((_, j) => (i === j ? one : zero)));
  for (let j = 0; j < size; j++)
    for (let i = j - 1; i >= 0; i--) {
      let sum = zero;
      for (let k = i + 1; k <= j; k++) sum = add(sum, multiply(triangle[i]![k]!, inverse[k]![j]!));
      inverse[i]![j] = exactSum(-sum.high, -sum.low);
    }
  return inverse;
}

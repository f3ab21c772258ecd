/** Rows of equal length. */
export type Matrix = readonly (readonly number[])[];

/** Lower triangle L with L·Lᵀ = matrix (symmetric); null where it is not positive definite, up to rounding. */
export function choleskyFactor(matrix: Matrix): Matrix | null {
  const size = matrix.length;
  const factor: number[][] = [];
  for (let i = 0; i < size; i++) {
    const row = new Array<number>(size).fill(0);
    for (let j = 0; j <= i; j++) {
      let rest = matrix[i]![j]!;
      const other = i === j ? row : factor[j]!;
      for (let k = 0; k < j; k++) rest -= row[k]! * other[k]!;
      if (i > j) row[j] = rest / other[j]!;
      // What rounding leaves of a diagonal entry that has cancelled is not a pivot.
      else if (rest > size * 4e-16 * matrix[i]![i]! && rest < Infinity) row[j] = Math.sqrt(rest);
      else return null;
    }
    factor.push(row);
  }
  return factor;
}

/** x with A·x = vector, from the factor of A. */
export function solveWithCholesky(factor: Matrix, vector: readonly number[]): number[] {
  const x = forward(factor, vector);
  for (let i = x.length - 1; i >= 0; i--) {
    for (let k = i + 1; k < x.length; k++) x[i]! -= factor[k]![i]! * x[k]!;
    x[i]! /= factor[i]![i]!;
  }
  return x;
}

/** vectorᵀ·A⁻¹·vector, from the factor of A; never negative. */
export function quadraticForm(factor: Matrix, vector: readonly number[]): number {
  let sum = 0;
  for (const entry of forward(factor, vector)) sum += entry * entry;
  return sum;
}

/** ln det A, from the factor of A. */
export function logDeterminant(factor: Matrix): number {
  let sum = 0;
  for (let i = 0; i < factor.length; i++) sum += Math.log(factor[i]![i]!);
  return 2 * sum;
}

/** x with L·x = vector. */
function forward(factor: Matrix, vector: readonly number[]): number[] {
  const x = [...vector];
  for (let i = 0; i < x.length; i++) {
    const row = factor[i]!;
    for (let k = 0; k < i; k++) x[i]! -= row[k]! * x[k]!;
    x[i]! /= row[i]!;
  }
  return x;
}

/**
 * X with matrix·X = rightHandSides (one column a system), by elimination with row exchanges; null where the matrix
 * is singular, up to rounding.
 */
export function solveLinear(matrix: Matrix, rightHandSides: Matrix): number[][] | null {
  const size = matrix.length;
  // Rows scaled by their largest entry, so that the choice of the pivot does not depend on units.
  const rows = matrix.map((row, i) => {
    const largest = Math.max(...row.map(Math.abs));
    return [...row, ...rightHandSides[i]!].map((entry) => entry / (largest || 1));
  });
  for (let column = 0; column < size; column++) {
    let best = column;
    for (let i = column + 1; i < size; i++)
      if (Math.abs(rows[i]![column]!) > Math.abs(rows[best]![column]!)) best = i;
    const pivotRow = rows[best]!;
    if (!(Math.abs(pivotRow[column]!) > size * 4e-16)) return null;
    rows[best] = rows[column]!;
    rows[column] = pivotRow;
    for (let i = column + 1; i < size; i++) {
      const row = rows[i]!;
      const multiple = row[column]! / pivotRow[column]!;
      if (multiple !== 0) for (let k = column; k < row.length; k++) row[k]! -= multiple * pivotRow[k]!;
    }
  }
  for (let i = size - 1; i >= 0; i--) {
    const row = rows[i]!;
    for (let k = size; k < row.length; k++) {
      for (let j = i + 1; j < size; j++) row[k]! -= row[j]! * rows[j]![k]!;
      row[k]! /= row[i]!;
    }
  }
  return rows.map((row) => row.slice(size));
}

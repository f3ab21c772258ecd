/**
 * T² of the first `rows` rows of `data`, into `values` from place `from` on: the same sums in the same order as tSquared.
 *
 * Four rows at a time, so that each number of the matrix is loaded once for four independent sums; it takes a good half
 * of the time of one row at a time.
 */
export function fillTSquared(
  data: Float64Array,
  mean: Float64Array,
  inverseFactor: Float64Array,
  values: Float64Array,
  from: number,
  rows: number,
): void {
  const p = mean.length;
  const first = new Float64Array(p);
  const second = new Float64Array(p);
  const third = new Float64Array(p);
  const fourth = new Float64Array(p);
  const whole = rows - (rows % 4);
  for (let row = 0, start = 0; row < whole; row += 4, start += 4 * p) {
    for (let j = 0; j < p; j++) {
      const center = mean[j]!;
      first[j] = data[start + j]! - center;
      second[j] = data[start + p + j]! - center;
      third[j] = data[start + 2 * p + j]! - center;
      fourth[j] = data[start + 3 * p + j]! - center;
    }
    let a = 0;
    let b = 0;
    let c = 0;
    let d = 0;
    for (let i = 0, place = 0; i < p; i++) {
      let sumA = 0;
      let sumB = 0;
      let sumC = 0;
      let sumD = 0;
      for (let j = 0; j <= i; j++) {
        const weight = inverseFactor[place++]!;
        sumA += weight * first[j]!;
        sumB += weight * second[j]!;
        sumC += weight * third[j]!;
        sumD += weight * fourth[j]!;
      }
      a += sumA * sumA;
      b += sumB * sumB;
      c += sumC * sumC;
      d += sumD * sumD;
    }
    values[from + row] = a;
    values[from + row + 1] = b;
    values[from + row + 2] = c;
    values[from + row + 3] = d;
  }
  for (let row = whole, start = whole * p; row < rows; row++, start += p) {
    let total = 0;
    for (let i = 0, place = 0; i < p; i++) {
      let sum = 0;
      for (let j = 0; j <= i; j++) sum += inverseFactor[place++]! * (data[start + j]! - mean[j]!);
      total += sum * sum;
    }
    values[from + row] = total;
  }
}

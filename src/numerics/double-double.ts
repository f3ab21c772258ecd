/**
 * Arithmetic with about 32 digits on unevaluated sums of two numbers.
 *
 * Source: T. J. Dekker, A floating-point technique for extending the available precision, Numerische Mathematik 18
 * (1971) 224-242; D. E. Knuth, The Art of Computer Programming 2, 4.2.2 (the sum). Both cited from memory.
 */
export interface DoubleDouble {
  readonly high: number;
  readonly low: number;
}

/** The exact sum of two numbers. */
export function exactSum(a: number, b: number): DoubleDouble {
  const high = a + b;
  const part = high - a;
  return { high, low: a - (high - part) + (b - part) };
}

/** The exact product of two numbers of everyday size (between 1e-140 and 1e140 each). */
export function exactProduct(a: number, b: number): DoubleDouble {
  const high = a * b;
  const aHigh = upperHalf(a);
  const bHigh = upperHalf(b);
  const aLow = a - aHigh;
  const bLow = b - bHigh;
  return { high, low: aLow * bLow - (high - aHigh * bHigh - aLow * bHigh - aHigh * bLow) };
}

/** The leading 26 binary digits. */
function upperHalf(a: number): number {
  const scaled = 134217729 * a;
  return scaled - (scaled - a);
}

export function add(a: DoubleDouble, b: DoubleDouble): DoubleDouble {
  const high = exactSum(a.high, b.high);
  const low = exactSum(a.low, b.low);
  const middle = exactSum(high.high, high.low + low.high);
  return exactSum(middle.high, middle.low + low.low);
}

export function negative(a: DoubleDouble): DoubleDouble {
  return { high: -a.high, low: -a.low };
}

export function multiply(a: DoubleDouble, b: DoubleDouble): DoubleDouble {
  const product = exactProduct(a.high, b.high);
  return exactSum(product.high, product.low + (a.high * b.low + a.low * b.high));
}

export function divide(a: DoubleDouble, b: DoubleDouble): DoubleDouble {
  const first = a.high / b.high;
  const rest = add(a, negative(multiply(b, { high: first, low: 0 })));
  const second = rest.high / b.high;
  const remainder = add(rest, negative(multiply(b, { high: second, low: 0 })));
  return add(exactSum(first, second), { high: remainder.high / b.high, low: 0 });
}

export function squareRoot(a: DoubleDouble): DoubleDouble {
  if (a.high <= 0) return { high: 0, low: 0 };
  const root = Math.sqrt(a.high);
  const rest = add(a, negative(exactProduct(root, root)));
  return exactSum(root, rest.high / (2 * root));
}

/**
 * Root of a monotone function, by bisection and secant steps that keep the bracket (Illinois form of the false
 * position). `low` and `high` need not bracket: they are moved apart until they do.
 *
 * @returns null where no bracket is found after widening by a factor of about 1e12.
 */
export function monotoneRoot(f: (x: number) => number, low: number, high: number): number | null {
  let a = low;
  let b = high;
  let fa = f(a);
  let fb = f(b);
  for (let widened = 0; fa * fb > 0; widened++) {
    if (widened > 40) return null;
    const width = b - a;
    if (Math.abs(fa) < Math.abs(fb)) {
      a -= width;
      fa = f(a);
    } else {
      b += width;
      fb = f(b);
    }
  }
  for (let step = 0; step < 200 && fa !== 0 && fb !== 0; step++) {
    // Every third step halves the bracket, so that a flat side cannot hold the search up.
    const x = step % 3 === 2 ? (a + b) / 2 : (a * fb - b * fa) / (fb - fa);
    const fx = f(x);
    if (Math.abs(b - a) <= 1e-14 * (Math.abs(a) + Math.abs(b)) || x === a || x === b) return x;
    if (fx * fb <= 0) {
      a = b;
      fa = fb;
    } else fa /= 2;
    b = x;
    fb = fx;
  }
  return fa === 0 ? a : b;
}

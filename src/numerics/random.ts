export interface RandomSource {
  /** A number strictly between 0 and 1, with 52 random bits. */
  uniform(): number;
  /** A number from the standard normal distribution. */
  normal(): number;
}

/**
 * Random numbers that are the same for the same seed everywhere: seeded simulations can be repeated to the last digit.
 *
 * @param seed  any finite number; its fraction counts too.
 *
 * Source: generator sfc32 of C. Doty-Humphrey (PractRand; cited from memory); normal numbers by Marsaglia's polar
 * method, SIAM Review 6 (1964) 260-264.
 */
export function randomSource(seed: number): RandomSource {
  const words = new Uint32Array(new Float64Array([seed]).buffer);
  let a = words[0]! | 0;
  let b = words[1]! | 0;
  let c = 0x9e3779b9 | 0;
  let counter = 1;
  const next = () => {
    const result = (a + b + counter) | 0;
    counter = (counter + 1) | 0;
    a = b ^ (b >>> 9);
    b = (c + (c << 3)) | 0;
    c = ((c << 21) | (c >>> 11)) + result;
    return result >>> 0;
  };
  for (let warm = 0; warm < 20; warm++) next();
  const uniform = () => ((next() >>> 6) * 2 ** 26 + (next() >>> 6) + 0.5) / 2 ** 52;
  let spare: number | null = null;
  const normal = () => {
    if (spare !== null) {
      const value = spare;
      spare = null;
      return value;
    }
    for (;;) {
      const x = 2 * uniform() - 1;
      const y = 2 * uniform() - 1;
      const square = x * x + y * y;
      if (square >= 1 || square === 0) continue;
      const scale = Math.sqrt((-2 * Math.log(square)) / square);
      spare = y * scale;
      return x * scale;
    }
  };
  return { uniform, normal };
}

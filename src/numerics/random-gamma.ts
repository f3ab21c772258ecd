import type { RandomSource } from './random.ts';

/**
 * A number from the gamma distribution with scale 1 and a shape > 0; twice one with shape ν/2 is a chi-square number.
 *
 * Source: G. Marsaglia and W. W. Tsang, A simple method for generating gamma variables, ACM Transactions on
 * Mathematical Software 26 (2000) 363-372.
 */
export function randomGamma(source: RandomSource, shape: number): number {
  if (shape < 1) return randomGamma(source, shape + 1) * source.uniform() ** (1 / shape);
  const d = shape - 1 / 3;
  const c = 1 / Math.sqrt(9 * d);
  for (;;) {
    const z = source.normal();
    const root = 1 + c * z;
    if (root <= 0) continue;
    const cube = root ** 3;
    if (Math.log(source.uniform()) < (z * z) / 2 + d * (1 - cube + Math.log(cube))) return d * cube;
  }
}

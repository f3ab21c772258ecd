/**
 * How many signals untouched streams give with nothing wrong, worked out without the detector: another random
 * generator, other formulas for the readings, textbook limits, and for normal values exact probabilities.
 */

/** Xorshift with 128 bits; Marsaglia, "Xorshift RNGs", Journal of Statistical Software 8(14), 2003. */
function xorshift(seed: number): () => number {
  let x = 123456789 ^ seed;
  let y = 362436069;
  let z = 521288629;
  let w = 88675123;
  return () => {
    const t = x ^ (x << 11);
    x = y;
    y = z;
    z = w;
    w = (w ^ (w >>> 19) ^ (t ^ (t >>> 8))) >>> 0;
    return (w + 0.5) / 2 ** 32;
  };
}

/** Polar method; Marsaglia and Bray, SIAM Review 6, 1964. */
function normals(uniform: () => number): () => number {
  let spare = Number.NaN;
  return () => {
    if (!Number.isNaN(spare)) {
      const kept = spare;
      spare = Number.NaN;
      return kept;
    }
    for (;;) {
      const a = 2 * uniform() - 1;
      const b = 2 * uniform() - 1;
      const square = a * a + b * b;
      if (square >= 1 || square === 0) continue;
      const factor = Math.sqrt((-2 * Math.log(square)) / square);
      spare = b * factor;
      return a * factor;
    }
  };
}

/** Samples in the baseline and judged by it, of each part model of a stream. */
export interface Counts {
  readonly baseline: number;
  readonly judged: number;
}

/** Signalling samples of one plant: expected number, its variance from plant to plant, and the error of the former. */
export interface Expected {
  readonly mean: number;
  readonly variance: number;
  readonly standardError: number;
}

/** d2 and d3 for n = 5: ASTM MNL 7 and ISO 7870-2, recomputed to five digits. */
const FIVE = { d2: 2.32593, d3: 0.86408 };
/** For n = 2 they have closed forms. */
const TWO = { d2: 2 / Math.sqrt(Math.PI), d3: Math.sqrt(2 - 4 / Math.PI) };

const summary = (counts: readonly number[]): Expected => {
  const mean = counts.reduce((sum, count) => sum + count, 0) / counts.length;
  const variance = counts.reduce((sum, count) => sum + (count - mean) ** 2, 0) / (counts.length - 1);
  return { mean, variance, standardError: Math.sqrt(variance / counts.length) };
};

/** Samples of five from any distribution, charted for mean and range: plants simulated one by one. */
export function simulateFives(draw: () => number, models: readonly Counts[], plants: number): Expected {
  const one = () => {
    let sum = 0;
    let low = Number.POSITIVE_INFINITY;
    let high = Number.NEGATIVE_INFINITY;
    for (let piece = 0; piece < 5; piece++) {
      const value = draw();
      sum += value;
      if (value < low) low = value;
      if (value > high) high = value;
    }
    return { mean: sum / 5, range: high - low };
  };
  const counts = Array.from({ length: plants }, () => {
    let signalling = 0;
    for (const { baseline, judged } of models) {
      const first = Array.from({ length: baseline }, one);
      const center = first.reduce((sum, { mean }) => sum + mean, 0) / baseline;
      const averageRange = first.reduce((sum, { range }) => sum + range, 0) / baseline;
      const halfWidth = (3 * averageRange) / (FIVE.d2 * Math.sqrt(5));
      const rangeLimit = averageRange * (1 + (3 * FIVE.d3) / FIVE.d2);
      for (let sample = 0; sample < judged; sample++) {
        const { mean, range } = one();
        if (Math.abs(mean - center) > halfWidth || range > rangeLimit) signalling++;
      }
    }
    return signalling;
  });
  return summary(counts);
}

/** Lateral runout, by inversion of the Weibull distribution. */
export function lateralRunouts(seed: number): () => number {
  const uniform = xorshift(seed);
  return () => Math.round(100 * 0.4 * (-Math.log(1 - uniform())) ** (1 / 2.2)) / 100;
}

/** Radial runout, from harmonics with normal cosine and sine parts: Rayleigh amplitude and random phase. */
export function radialRunouts(seed: number): () => number {
  const normal = normals(xorshift(seed));
  const scales = [0.085, 0.055, 0.012];
  const table = scales.flatMap((_, place) =>
    Array.from({ length: 24 }, (_unused, step) => (Math.PI / 12) * (place + 1) * step),
  );
  const cosines = table.map(Math.cos);
  const sines = table.map(Math.sin);
  return () => {
    const parts = scales.map((scale) => [scale * normal(), scale * normal()] as const);
    let low = Number.POSITIVE_INFINITY;
    let high = Number.NEGATIVE_INFINITY;
    for (let step = 0; step < 24; step++) {
      let radius = 0.008 * normal() + (step === 0 ? 0.05 * Math.exp(0.3 * normal()) : 0);
      for (let place = 0; place < 3; place++) {
        const [a, b] = parts[place]!;
        radius += a * cosines[24 * place + step]! + b * sines[24 * place + step]!;
      }
      if (radius < low) low = radius;
      if (radius > high) high = radius;
    }
    return Math.round(1000 * (high - low)) / 1000;
  };
}

/**
 * Upper tail of the normal distribution: continued fraction of Laplace (Abramowitz and Stegun, 26.2.14), which
 * converges quickly for the arguments near 3 that control limits have.
 */
function upperTail(z: number): number {
  if (z < 1) throw new RangeError('made for control limits');
  let fraction = z;
  for (let term = 200; term >= 1; term--) fraction = z + term / fraction;
  return Math.exp((-z * z) / 2) / Math.sqrt(2 * Math.PI) / fraction;
}

/**
 * Pairs of normal values, charted for mean and range, limits estimated from a baseline. Given the estimates the
 * probability is exact (mean and range of normal values are independent); their own spread is averaged over.
 */
export function expectedForPairs({ baseline, judged }: Counts, plants: number, seed: number): Expected {
  const normal = normals(xorshift(seed));
  const probabilities = Array.from({ length: plants }, () => {
    // In standard deviations of the process, about its mean.
    const center = normal() / Math.sqrt(2 * baseline);
    let ranges = 0;
    for (let pair = 0; pair < baseline; pair++) ranges += Math.abs(normal()) * Math.SQRT2;
    const deviation = ranges / baseline / TWO.d2;
    const above = upperTail(3 * deviation + center * Math.SQRT2);
    const below = upperTail(3 * deviation - center * Math.SQRT2);
    const wide = 2 * upperTail(((TWO.d2 + 3 * TWO.d3) * deviation) / Math.SQRT2);
    return 1 - (1 - above - below) * (1 - wide);
  });
  const { mean, variance, standardError } = summary(probabilities);
  // Samples of one plant share their limits: binomial within, and the spread of the probability between.
  return {
    mean: judged * mean,
    variance: judged * mean * (1 - mean) + judged * (judged - 1) * variance,
    standardError: judged * standardError,
  };
}

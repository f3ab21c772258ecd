import { normalLowerTail } from '../numerics/normal.ts';
import { gaussLegendreRule } from '../numerics/quadrature.ts';

/** Which gap is compared with which span, from the suspected end. */
export interface DixonRatio {
  readonly name: 'r10' | 'r11' | 'r21' | 'r22';
  /** The gap reaches to the reading so many places from the suspected one. */
  readonly gap: 1 | 2;
  /** Readings left out at the other end of the span. */
  readonly leftOut: 0 | 1 | 2;
}

/** Source: W. J. Dixon, Biometrics 9 (1953) 74-89, the ratio recommended for each sample size. */
export function dixonRatio(count: number): DixonRatio {
  if (count <= 7) return { name: 'r10', gap: 1, leftOut: 0 };
  if (count <= 10) return { name: 'r11', gap: 1, leftOut: 1 };
  return count <= 13 ? { name: 'r21', gap: 2, leftOut: 1 } : { name: 'r22', gap: 2, leftOut: 2 };
}

const { nodes, weights } = gaussLegendreRule(40, 0, 1);
const end = 7;
const step = 0.2;

/** Pairs a < b of normal values with their joint density as weight, for sums over both. */
const pairs = Array.from({ length: Math.round((2 * end) / step) + 1 }, (_, row) => {
  const a = -end + row * step;
  return nodes.map((node, k) => {
    const b = a + (end - a) * node;
    const weight = step * (end - a) * weights[k]! * density(a) * density(b);
    return { a, b, belowA: normalLowerTail(a), belowB: normalLowerTail(b), weight };
  });
}).flat();

/**
 * P(ratio > value) for the upper end of a normal sample, to about 1e-9.
 *
 * Given the reading a at the other end of the span and the largest one b, the ratio exceeds the value where all readings
 * between them, but for the one that the gap may skip, lie below b − value · (b − a): a mean over a and b.
 */
export function dixonTail(value: number, count: number): number {
  const { gap, leftOut } = dixonRatio(count);
  const between = count - 2 - leftOut;
  let arrangements = count * (count - 1);
  for (let k = 0; k < leftOut; k++) arrangements *= (count - 2 - k) / (k + 1);
  let sum = 0;
  for (const { a, b, belowA, belowB, weight } of pairs) {
    const belowGap = normalLowerTail(b - value * (b - a));
    const inside = belowGap - belowA;
    const skipping = gap === 2 ? between * (belowB - belowGap) : 0;
    sum += weight * belowA ** leftOut * inside ** (between - 1) * (inside + skipping);
  }
  return Math.min(1, arrangements * sum);
}

function density(z: number): number {
  return Math.exp((-z * z) / 2) / Math.sqrt(2 * Math.PI);
}

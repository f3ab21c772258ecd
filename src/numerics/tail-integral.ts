import { gaussLegendreRule } from './quadrature.ts';

const { nodes, weights } = gaussLegendreRule(64, 0, 1);

/**
 * ∫ exp(exponent(u)) du from 0 to `most`, for an exponent that is 0 at 0 and falls smoothly: what a tail area of a
 * distribution with large parameters comes down to. Gauss-Legendre over the part that matters, to 1e-15.
 *
 * @param reach  a first guess of where the exponent has fallen to −40.
 */
export function tailIntegral(exponent: (u: number) => number, reach: number, most: number): number {
  let end = Math.min(reach, most);
  while (end > 0 && end < most && exponent(end) > -40) end = Math.min(1.4 * end, most);
  let sum = 0;
  for (let k = 0; k < nodes.length; k++) sum += weights[k]! * Math.exp(exponent(end * nodes[k]!));
  return end * sum;
}

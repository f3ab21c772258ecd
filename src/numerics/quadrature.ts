/** Nodes and weights of a quadrature rule: ∫ f ≈ Σ weights[i] · f(nodes[i]). */
export interface QuadratureRule {
  readonly nodes: readonly number[];
  readonly weights: readonly number[];
}

/**
 * Gauss-Legendre rule on [from, to]: exact for polynomials up to degree 2 · count − 1.
 *
 * Nodes are the roots of the Legendre polynomial, by Newton steps from Tricomi's starting values.
 *
 * Source: Abramowitz and Stegun, Handbook of Mathematical Functions, 25.4.30 and 22.7.10 (the recurrence).
 */
export function gaussLegendreRule(count: number, from: number, to: number): QuadratureRule {
  const nodes = new Array<number>(count);
  const weights = new Array<number>(count);
  const half = (to - from) / 2;
  for (let i = 0; i < count; i++) {
    let x = Math.cos((Math.PI * (i + 0.75)) / (count + 0.5));
    let slope = 1;
    for (let step = 0; step < 6; step++) {
      let previous = 1;
      let current = x;
      for (let k = 2; k <= count; k++) {
        const next = ((2 * k - 1) * x * current - (k - 1) * previous) / k;
        previous = current;
        current = next;
      }
      slope = (count * (x * current - previous)) / (x * x - 1);
      x -= current / slope;
    }
    nodes[i] = from + half * (1 - x);
    weights[i] = (2 * half) / ((1 - x * x) * slope * slope);
  }
  return { nodes, weights };
}

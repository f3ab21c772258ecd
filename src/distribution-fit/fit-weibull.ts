import { newtonRoot } from '../numerics/newton-root.ts';
import { type DistributionFamily, type DistributionFunctions, noMaximum } from './distribution-family.ts';
import type { DistributionParameters } from './fitted-distribution.ts';
import { logsOf } from './logs-of.ts';
import { momentsOf } from './moments-of.ts';

/**
 * Likelihood equation Σ x^k ln x / Σ x^k − 1/k = mean of ln x, whose left side grows with k: one root, by Newton
 * steps on ln k.
 *
 * Source: N. L. Johnson, S. Kotz and N. Balakrishnan, Continuous Univariate Distributions 1, 2nd edition, chapter 21
 * (cited from memory).
 */
export const weibullFamily: DistributionFamily<'weibull'> = {
  title: 'a Weibull distribution',
  parameterCount: 2,
  fewestValues: 2,
  holds: 'above-zero',
  positive: ['shape', 'scale'],
  names: ['shape', 'scale'],
  fit: (sorted) => {
    const n = sorted.length;
    const largest = sorted[n - 1]!;
    const logs = logsOf(sorted, largest);
    const { mean, rootMeanSquare } = momentsOf(logs);
    let powers = 0;
    // The spread of ln x is π/√6 over the shape: the start.
    const logShape = newtonRoot(
      (logK) => {
        const k = Math.exp(logK);
        let first = 0;
        let second = 0;
        powers = 0;
        for (let index = 0; index < n; index++) {
          const log = logs[index]!;
          const power = Math.exp(k * log);
          powers += power;
          first += power * log;
          second += power * log * log;
        }
        const weighted = first / powers;
        return {
          value: (weighted - mean) * k - 1,
          slope: (weighted - mean) * k + k * k * (second / powers - weighted * weighted),
        };
      },
      Math.log(Math.PI / Math.sqrt(6) / rootMeanSquare),
    );
    if (logShape === null) return noMaximum('No Weibull shape fits better than all others.');
    const shape = Math.exp(logShape);
    return { shape, scale: largest * Math.exp(Math.log(powers / n) / shape) };
  },
  functions: weibullFunctions,
};

export function weibullFunctions({ shape, scale }: DistributionParameters['weibull']): DistributionFunctions {
  const logRelative = (x: number) => Math.log(x / scale);
  const hazard = (x: number) => (x <= 0 ? 0 : (x / scale) ** shape);
  return {
    logDensity: (x) => Math.log(shape / scale) + (shape === 1 ? 0 : (shape - 1) * logRelative(x)) - hazard(x),
    lowerTail: (x) => -Math.expm1(-hazard(x)),
    upperTail: (x) => Math.exp(-hazard(x)),
    logLowerTail: (x) => {
      const below = -Math.expm1(-hazard(x));
      return below > 1e-300 ? Math.log(below) : shape * logRelative(x);
    },
    logUpperTail: (x) => -hazard(x),
    quantile: (probability) => scale * (-Math.log1p(-probability)) ** (1 / shape),
    draw: (random) => scale * (-Math.log(random.uniform())) ** (1 / shape),
  };
}

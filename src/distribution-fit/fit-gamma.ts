import { excessOverLog } from '../numerics/deviance.ts';
import { gammaQuantile, gammaTail } from '../numerics/gamma.ts';
import { probabilityOn } from '../numerics/known-tail.ts';
import { stirlingError } from '../numerics/log-gamma.ts';
import { newtonRoot } from '../numerics/newton-root.ts';
import { randomGamma } from '../numerics/random-gamma.ts';
import { type DistributionFamily, noMaximum } from './distribution-family.ts';
import { logMinusDigamma } from './log-minus-digamma.ts';
import { logRatio } from './logs-of.ts';
import { momentsOf } from './moments-of.ts';

/**
 * Likelihood equations: mean = shape · scale and ln(shape) − ψ(shape) = ln(mean) − mean of ln x, the second by Newton
 * steps between the logarithms of both sides, where it is nearly straight.
 *
 * Source: S. C. Choi and R. Wette, Technometrics 11(4), 1969 (cited from memory).
 */
export const gammaFamily: DistributionFamily<'gamma'> = {
  title: 'a gamma distribution',
  parameterCount: 2,
  fewestValues: 2,
  holds: 'above-zero',
  positive: ['shape', 'scale'],
  names: ['shape', 'scale'],
  fit: (sorted) => {
    const { mean } = momentsOf(sorted);
    let excess = 0;
    for (let index = 0; index < sorted.length; index++) {
      const ratio = (sorted[index]! - mean) / mean;
      excess += ratio > -0.5 ? excessOverLog(ratio) : ratio - logRatio(sorted[index]!, mean);
    }
    const wanted = Math.log(excess / sorted.length);
    const logShape = newtonRoot(
      (logK) => {
        const { value, slope } = logMinusDigamma(Math.exp(logK));
        return { value: wanted - Math.log(value), slope };
      },
      -wanted - Math.LN2,
      2,
    );
    if (logShape === null) return noMaximum('No gamma shape fits better than all others.');
    const shape = Math.exp(logShape);
    return { shape, scale: mean / shape };
  },
  functions: ({ shape, scale }) => {
    const atMean = Math.log(shape / (2 * Math.PI)) / 2 - stirlingError(shape);
    const tailAt = (x: number) => gammaTail(x / scale, shape);
    const logTail = (side: 'lower' | 'upper', x: number) => {
      const tail = tailAt(x);
      return tail.side === side ? tail.log : Math.log(-Math.expm1(tail.log));
    };
    return {
      logDensity: (x) => {
        const ratio = x / scale / shape;
        const excess =
          ratio > 0.6 ? excessOverLog(ratio - 1) : ratio - 1 - logRatio(x, scale) + Math.log(shape);
        return atMean - shape * excess - Math.log(x);
      },
      lowerTail: (x) => (x <= 0 ? 0 : probabilityOn('lower', tailAt(x))),
      upperTail: (x) => (x <= 0 ? 1 : probabilityOn('upper', tailAt(x))),
      logLowerTail: (x) => logTail('lower', x),
      logUpperTail: (x) => logTail('upper', x),
      quantile: (probability) => scale * gammaQuantile(probability, shape),
      draw: (random) => scale * randomGamma(random, shape),
    };
  },
};

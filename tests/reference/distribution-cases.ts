/** How the cases of distributions.json are worked out: tails and quantiles of src/numerics/. */
import { betaLowerTail, betaQuantile, betaUpperTail } from '../../src/numerics/beta.ts';
import { binomialLowerTail, binomialProbability, binomialUpperTail } from '../../src/numerics/binomial.ts';
import { chiSquareQuantile } from '../../src/numerics/chi-square.ts';
import { fLowerTail, fQuantile, fUpperTail } from '../../src/numerics/f-distribution.ts';
import {
  digamma,
  gammaLowerTail,
  gammaQuantile,
  gammaUpperTail,
  logGamma,
  trigamma,
} from '../../src/numerics/gamma.ts';
import {
  hypergeometricLowerTail,
  hypergeometricProbability,
  hypergeometricUpperTail,
} from '../../src/numerics/hypergeometric.ts';
import { noncentralTCumulative } from '../../src/numerics/noncentral-t.ts';
import { logNormalUpperTail, normalQuantile, normalUpperTail } from '../../src/numerics/normal.ts';
import { poissonLowerTail, poissonProbability, poissonUpperTail } from '../../src/numerics/poisson.ts';
import { studentTLowerTail, studentTQuantile, studentTUpperTail } from '../../src/numerics/student-t.ts';
import type { CaseHandlers } from './run-cases.ts';

/** Keyed by inputs.kind. */
export const distributionsHandlers: CaseHandlers = {
  normalTail: ({ z }) => ({
    upperTail: normalUpperTail(z),
    logUpperTail: logNormalUpperTail(z),
  }),
  normalQuantile: ({ probability }) => ({ quantile: normalQuantile(probability) }),
  noncentralT: ({ t, degreesOfFreedom, noncentrality }) => ({
    cumulative: noncentralTCumulative(t, degreesOfFreedom, noncentrality),
  }),
  chiSquareQuantile: ({ probability, degreesOfFreedom }) => ({
    quantile: chiSquareQuantile(probability, degreesOfFreedom),
  }),
  gammaTail: ({ x, shape }) => ({ lower: gammaLowerTail(x, shape), upper: gammaUpperTail(x, shape) }),
  betaTail: ({ x, a, b }) => ({ lower: betaLowerTail(x, a, b), upper: betaUpperTail(x, a, b) }),
  fTail: ({ value, numerator, denominator }) => ({
    lower: fLowerTail(value, numerator, denominator),
    upper: fUpperTail(value, numerator, denominator),
  }),
  studentTTail: ({ t, degreesOfFreedom }) => ({
    lower: studentTLowerTail(t, degreesOfFreedom),
    upper: studentTUpperTail(t, degreesOfFreedom),
  }),
  gammaQuantile: ({ probability, shape }) => ({ quantile: gammaQuantile(probability, shape) }),
  betaQuantile: ({ probability, a, b }) => ({ quantile: betaQuantile(probability, a, b) }),
  fQuantile: ({ probability, numerator, denominator }) => ({
    quantile: fQuantile(probability, numerator, denominator),
  }),
  studentTQuantile: ({ probability, degreesOfFreedom }) => ({
    quantile: studentTQuantile(probability, degreesOfFreedom),
  }),
  logGamma: ({ x }) => ({ logGamma: logGamma(x), digamma: digamma(x), trigamma: trigamma(x) }),
  binomialTail: ({ count, trials, probability }) => ({
    lower: binomialLowerTail(count, trials, probability),
    upper: binomialUpperTail(count, trials, probability),
    probability: binomialProbability(count, trials, probability),
  }),
  poissonTail: ({ count, mean }) => ({
    lower: poissonLowerTail(count, mean),
    upper: poissonUpperTail(count, mean),
    probability: poissonProbability(count, mean),
  }),
  hypergeometricTail: ({ count, draws, marked, total }) => ({
    lower: hypergeometricLowerTail(count, draws, marked, total),
    upper: hypergeometricUpperTail(count, draws, marked, total),
    probability: hypergeometricProbability(count, draws, marked, total),
  }),
};

import { logNormalUpperTail, normalQuantile, normalUpperTail } from '../numerics/normal.ts';
import type { DistributionFunctions } from './distribution-family.ts';

/** An increasing change of scale to standard normal. */
interface NormalScale {
  /** z of x; ±Infinity where x lies outside the distribution. */
  readonly score: (x: number) => number;
  /** ln of dz/dx. */
  readonly logSlope: (x: number) => number;
  /** x of z. */
  readonly value: (z: number) => number;
}

/** Everything about a distribution that is normal on another scale. */
export function throughNormal({ score, logSlope, value }: NormalScale): DistributionFunctions {
  return {
    logDensity: (x) => {
      const z = score(x);
      return logSlope(x) - (z * z) / 2 - Math.log(2 * Math.PI) / 2;
    },
    lowerTail: (x) => normalUpperTail(-score(x)),
    upperTail: (x) => normalUpperTail(score(x)),
    logLowerTail: (x) => logNormalUpperTail(-score(x)),
    logUpperTail: (x) => logNormalUpperTail(score(x)),
    quantile: (probability) => value(normalQuantile(probability)),
    draw: (random) => value(random.normal()),
  };
}

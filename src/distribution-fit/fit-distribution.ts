import { requireFinite, requireFiniteValues, requireName } from '../checks.ts';
import { type Outcome, StatisticsError } from '../errors.ts';
import { andersonDarlingStatistic } from './anderson-darling-statistic.ts';
import type { DistributionFamily, FitChoices } from './distribution-family.ts';
import { distributionNames, families } from './families.ts';
import type { DistributionName, FittedDistribution } from './fitted-distribution.ts';

export interface FitDistributionOptions<Name extends DistributionName = DistributionName> {
  readonly distribution: Name;
  /**
   * For 'box-cox' and 'yeo-johnson': the power held fixed instead of estimated, −20 to 20. Of Box-Cox, 0 is the
   * logarithm, 0.5 the square root, −1 the reciprocal, 1 no change.
   */
  readonly lambda?: number;
}

/**
 * Fits a distribution by maximum likelihood: the parameters under which these values were likeliest, the quantiles that
 * the percentile method of capability asks for, and how well it fits.
 *
 * The fit does not depend on the unit (but for 'yeo-johnson') nor on the order of the values. The likelihood of the two
 * Johnson distributions is unbounded at the edge of its parameters; the largest peak inside is taken, and where there
 * is none the outcome says so.
 *
 * @param values   finite numbers in one unit, at least two of them different: 2 values for distributions of one or two
 *                 parameters, 3 for powers, 5 for Johnson distributions. How far 'the tail' can be trusted is another
 *                 matter: see `rankDistributions`.
 * @param options  which distribution.
 * @returns        the fit, or Unavailable `too-few-values`, `no-variation`, `no-maximum`, `outside-method` (numbers that
 *                 leave the range of double precision).
 * @throws         StatisticsError `empty`, `not-finite`, `unknown-name`, and `out-of-range` for a value that the
 *                 distribution cannot hold, naming the entry.
 *
 * Accuracy: the likelihood equations are solved to rounding. Johnson parameters can be ill determined by the data while
 * the quantiles are not.
 * A value right at the end of a distribution, such as a 0 among deviations, would make A² infinite; it counts there as a
 * tail of 5e-324.
 *
 * Source: with each distribution, in `src/distribution-fit/fit-*.ts`; quantiles as ISO 22514-2 uses them.
 *
 * @example
 * fitDistribution([0.12, 0.31, 0.25, 0.48, 0.19, 0.36], { distribution: 'weibull' });
 * // available, parameters.shape 2.67…, parameters.scale 0.321…, quantiles.median 0.280…
 */
export function fitDistribution<Name extends DistributionName>(
  values: ArrayLike<number>,
  options: FitDistributionOptions<Name>,
): Outcome<FittedDistribution<Name>> {
  requireFiniteValues(values, 'values');
  requireName(options.distribution, distributionNames as readonly Name[], 'options.distribution');
  const family = families[options.distribution] as unknown as DistributionFamily;
  if (options.lambda !== undefined) requirePower(options.lambda, options.distribution);
  requireHeld(values, family);
  const sorted = Float64Array.from(values).sort();
  return fitSorted(sorted, options.distribution, { lambda: options.lambda }) as Outcome<
    FittedDistribution<Name>
  >;
}

/** The fit of values that are checked and in ascending order. */
export function fitSorted(
  sorted: Float64Array,
  distribution: DistributionName,
  choices: FitChoices = {},
): Outcome<FittedDistribution> {
  const family = families[distribution] as unknown as DistributionFamily;
  const n = sorted.length;
  if (n < family.fewestValues)
    return {
      available: false,
      reason: 'too-few-values',
      message: `Fitting ${family.title} needs at least ${family.fewestValues} values; there ${n === 1 ? 'is 1' : `are ${n}`}. Measure more parts.`,
    };
  if (sorted[0] === sorted[n - 1])
    return {
      available: false,
      reason: 'no-variation',
      message: 'All values are equal, so they have no shape. Check that the gauge resolves the variation.',
    };
  const parameters = family.fit(sorted, choices);
  if ('available' in parameters) return parameters;
  const functions = family.functions(parameters);
  let logLikelihood = 0;
  for (let index = 0; index < n; index++) logLikelihood += functions.logDensity(sorted[index]!);
  const fitted = {
    available: true as const,
    distribution,
    parameters,
    sampleSize: n,
    logLikelihood,
    andersonDarling: andersonDarlingStatistic(sorted, functions),
    quantiles: {
      lowerPercentile: functions.quantile(0.00135),
      median: functions.quantile(0.5),
      upperPercentile: functions.quantile(0.99865),
    },
  };
  const numbers = [
    ...Object.values(parameters as unknown as Record<string, number>),
    ...Object.values(fitted.quantiles),
    fitted.logLikelihood,
    fitted.andersonDarling,
  ];
  if (!numbers.every(Number.isFinite) || family.positive.some((name) => !((parameters[name] as number) > 0)))
    return {
      available: false,
      reason: 'outside-method',
      message: `The fit of ${family.title} leaves the range of numbers, or has no upper percentile. Try another distribution, and look for a value that does not belong to the others.`,
    };
  return fitted as unknown as Outcome<FittedDistribution>;
}

function requirePower(lambda: number, distribution: DistributionName): void {
  requireFinite(lambda, 'options.lambda');
  if (distribution !== 'box-cox' && distribution !== 'yeo-johnson')
    throw new StatisticsError(
      'out-of-range',
      'options.lambda',
      lambda,
      'Only the distributions box-cox and yeo-johnson have a power; leave lambda out.',
    );
  if (Math.abs(lambda) > 20)
    throw new StatisticsError('out-of-range', 'options.lambda', lambda, 'Choose a number from -20 to 20.');
}

/** Every value has to be one that the distribution can hold. */
export function requireHeld(
  values: ArrayLike<number>,
  { holds, title }: Pick<DistributionFamily, 'holds' | 'title'>,
): void {
  if (holds === 'any') return;
  for (let index = 0; index < values.length; index++) {
    const value = values[index]!;
    if (value > 0 || (value === 0 && holds === 'zero-and-above')) continue;
    throw new StatisticsError(
      'out-of-range',
      `values.${index}`,
      value,
      value === 0
        ? `There is no 0 in ${title}. If it means less than the gauge resolves, enter half a gauge step; or choose the folded normal distribution, which holds 0.`
        : `There is nothing below 0 in ${title}. Correct the entry, or choose a distribution that holds it: normal, johnson-su, yeo-johnson.`,
    );
  }
}

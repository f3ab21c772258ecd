import { requireBetween, requireFiniteValues, requireFraction, requireName } from '../checks.ts';
import type { Outcome } from '../errors.ts';
import { chiSquareQuantile } from '../numerics/chi-square.ts';
import { monotoneRoot } from '../numerics/root.ts';
import { boxCoxPower } from './box-cox-transform.ts';
import { families } from './families.ts';
import { requireHeld } from './fit-distribution.ts';
import { yeoJohnsonPower } from './fit-yeo-johnson.ts';
import { logsOf } from './logs-of.ts';
import { isResolved, momentsOf } from './moments-of.ts';
import { powerProfile } from './power-profile.ts';
import { type PowerTransformationMethod, powerTransformationMethods } from './power-transform.ts';

export interface PowerTransformationOptions {
  /** 'box-cox' for values above 0, 'yeo-johnson' for any values. Default 'box-cox'. */
  readonly method?: PowerTransformationMethod;
  /** A power chosen beforehand, −20 to 20; without it the likeliest one is taken. */
  readonly lambda?: number;
  /** Of the interval of the power. Default 0.95. */
  readonly confidence?: number;
}

export interface PowerTransformation {
  readonly method: PowerTransformationMethod;
  readonly lambda: number;
  /** False where `lambda` was chosen beforehand. */
  readonly estimated: boolean;
  readonly sampleSize: number;
  /** Profile log-likelihood without constants: −n/2 ln(variance, divisor n) + the logarithm of the Jacobian. */
  readonly logLikelihood: number;
  /** Of the transformed values. */
  readonly mean: number;
  /** Of the transformed values, divisor n − 1. */
  readonly standardDeviation: number;
  /** Powers that the values do not contradict; a side without end within reach is null. */
  readonly interval: {
    readonly confidence: number;
    readonly lower: number | null;
    readonly upper: number | null;
  };
  /** The plain power inside the interval that fits best, null where none lies inside. */
  readonly plainPower: PlainPower | null;
  readonly message: string;
}

export interface PlainPower {
  readonly name: 'reciprocal' | 'logarithm' | 'square root' | 'no change';
  readonly lambda: number;
}

const plainPowers: readonly PlainPower[] = [
  { name: 'no change', lambda: 1 },
  { name: 'square root', lambda: 0.5 },
  { name: 'logarithm', lambda: 0 },
  { name: 'reciprocal', lambda: -1 },
];

/**
 * Finds the power that makes values look most normal, with the range of powers that would do as well, and names the
 * plain one (logarithm, square root, reciprocal, none) among them: easier to explain, and steadier from sample to
 * sample than a power with decimals. Indices are then computed on the transformed scale, limits transformed alike with
 * `powerTransform`.
 *
 * @param values   at least 3 finite numbers in one unit, two of them different; above 0 for Box-Cox.
 * @param options  method, a power chosen beforehand, confidence.
 * @returns        power, profile log-likelihood, mean and standard deviation on the transformed scale; or Unavailable
 *                 `too-few-values`, `no-variation`, `no-maximum`, `outside-method` (powers beyond the range or the digits of numbers).
 * @throws         StatisticsError `empty`, `not-finite`, `unknown-name`, `out-of-range`, naming the field.
 *
 * Accuracy: the likelihood equation is solved to rounding; the interval is that of the likelihood ratio, good for
 * large samples.
 *
 * Source: G. E. P. Box and D. R. Cox, Journal of the Royal Statistical Society B 26(2), 1964; I.-K. Yeo and R. A.
 * Johnson, Biometrika 87(4), 2000 (cited from memory).
 *
 * @example
 * fitPowerTransformation([0.12, 0.31, 0.25, 0.48, 0.19, 0.36, 0.92]);
 * // lambda -0.171…, plainPower.name "logarithm", estimated true
 */
export function fitPowerTransformation(
  values: ArrayLike<number>,
  options: PowerTransformationOptions = {},
): Outcome<PowerTransformation> {
  const { method = 'box-cox', confidence = 0.95 } = options;
  requireName(method, powerTransformationMethods, 'options.method');
  requireFraction(confidence, 'options.confidence');
  if (options.lambda !== undefined) requireBetween(options.lambda, -20, 20, 'options.lambda');
  requireFiniteValues(values, 'values');
  const family = families[method];
  requireHeld(values, family);
  const n = values.length;
  if (n < family.fewestValues)
    return {
      available: false,
      reason: 'too-few-values',
      message: `A power needs at least ${family.fewestValues} values; there are ${n}. Measure more parts.`,
    };
  const sorted = Float64Array.from(values).sort();
  if (sorted[0] === sorted[n - 1])
    return {
      available: false,
      reason: 'no-variation',
      message:
        'All values are equal, so no power changes their shape. Check that the gauge resolves the variation.',
    };
  const parameters = family.fit(sorted, { lambda: options.lambda });
  if ('available' in parameters) return parameters;
  const { lambda } = parameters;
  const power = method === 'box-cox' ? boxCoxPower : yeoJohnsonPower;
  const transformed = sorted.map((x) => power(x, lambda));
  const { mean, standardDeviation } = momentsOf(transformed);
  const profile = profileOf(sorted, method);
  const logLikelihood = profile(lambda);
  if (
    ![mean, standardDeviation, logLikelihood].every(Number.isFinite) ||
    !isResolved(mean, standardDeviation)
  )
    return {
      available: false,
      reason: 'outside-method',
      message:
        'The powers leave the range of numbers, or keep too few digits of what tells the readings apart. Choose another unit, or a plain power such as the logarithm (0).',
    };
  const interval = { confidence, ...intervalOf(profile, lambda, confidence) };
  const inside = plainPowers.filter(
    (plain) => plain.lambda >= (interval.lower ?? -Infinity) && plain.lambda <= (interval.upper ?? Infinity),
  );
  const plainPower = inside.reduce<PlainPower | null>(
    (best, plain) => (best === null || profile(plain.lambda) > profile(best.lambda) ? plain : best),
    null,
  );
  const estimated = options.lambda === undefined;
  return {
    available: true,
    method,
    lambda,
    estimated,
    sampleSize: n,
    logLikelihood,
    mean,
    standardDeviation,
    interval,
    plainPower,
    message: sentence(lambda, estimated, plainPower),
  };
}

/** Profile log-likelihood over the power, on the original scale of the values. */
function profileOf(sorted: Float64Array, method: PowerTransformationMethod): (lambda: number) => number {
  if (method === 'yeo-johnson') {
    const logs = sorted.map((x) => Math.sign(x) * Math.log1p(Math.abs(x)));
    return (lambda) => powerProfile(logs, lambda, true);
  }
  const reference = sorted[sorted.length >> 1]!;
  const logs = logsOf(sorted, reference);
  const { mean } = momentsOf(logs);
  const centred = logs.map((log) => log - mean);
  const shift = sorted.length * (Math.log(reference) + mean);
  return (lambda) => powerProfile(centred, lambda) - shift;
}

/** Where the likelihood has fallen by half a chi-square quantile; null where it does not fall so far. */
function intervalOf(
  profile: (lambda: number) => number,
  lambda: number,
  confidence: number,
): { readonly lower: number | null; readonly upper: number | null } {
  const drop = profile(lambda) - chiSquareQuantile(confidence, 1) / 2;
  const side = (direction: 1 | -1) => {
    let reach = 0.05;
    while (reach < 1000 && profile(lambda + direction * reach) > drop) reach *= 1.6;
    if (reach >= 1000) return null;
    const height = (distance: number) => Math.max(-1e9, profile(lambda + direction * distance) - drop);
    const distance = monotoneRoot(height, 0, reach);
    return distance === null ? null : lambda + direction * distance;
  };
  return { lower: side(-1), upper: side(1) };
}

function sentence(lambda: number, estimated: boolean, plain: PlainPower | null): string {
  const judge = 'Judge by the probability plot of the transformed values whether they look normal now.';
  if (!estimated) return `The power ${lambda} was chosen beforehand. ${judge}`;
  const power = `The likeliest power is ${lambda.toPrecision(3)}.`;
  if (plain === null) return `${power} No plain power fits as well. ${judge}`;
  if (plain.lambda === 1)
    return `${power} The values do not ask for a transformation: leave them as they are.`;
  return `${power} The ${plain.name} (${plain.lambda}) fits nearly as well and is easier to explain: consider it. ${judge}`;
}

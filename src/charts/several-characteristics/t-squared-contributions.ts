import { requireWhole } from '../../checks.ts';
import type { Outcome } from '../../errors.ts';
import { requireMultivariateStandard, requireObservation } from './multivariate-checks.ts';
import type { MultivariateStandard, Observation } from './multivariate-standard.ts';
import { characteristicNames, largestTSquared, tooFar, type Whitening, whitening } from './whitening.ts';

/** What one characteristic adds to a T². */
export interface CharacteristicContribution {
  readonly name: string;
  /** d_j: T² less the T² of all other characteristics. ≥ 0. */
  readonly conditional: number;
  /** t_j²: the squared distance from its mean, in its own standard deviations. ≥ 0. */
  readonly unconditional: number;
}

/** Which characteristic made a T² what it is. */
export interface TSquaredContributions {
  readonly tSquared: number;
  /** In the order of the readings. */
  readonly characteristics: readonly CharacteristicContribution[];
  /** Name of the characteristic with the largest conditional contribution, the first on a tie. */
  readonly largest: string;
  /** One plain sentence: which characteristic to look at first, and why. */
  readonly message: string;
}

/**
 * Contribution of each characteristic to a T²: conditional (what T² loses without it) and unconditional (its own
 * distance from its mean). A characteristic with a large conditional and an ordinary unconditional contribution has an
 * everyday value that does not fit the values of the others.
 *
 * @param observation  p finite numbers; of a subgroup, its mean vector.
 * @param standard     mean vector and covariance of single observations.
 * @param options      names of the p characteristics; size, the observations behind the mean vector (default 1).
 * @returns            contributions, dimensionless; Unavailable `singular-covariance`.
 * @throws             StatisticsError `empty`, `not-finite`, `sizes-differ`, `out-of-range`, `not-an-integer`.
 *
 * Source: Runger, Alt and Montgomery, Communications in Statistics 25(10), 1996 (d_j); Mason, Tracy and Young, Journal
 * of Quality Technology 27(2), 1995 (t_j²).
 *
 * @example
 * const standard = { mean: [10, 5], covariance: [[1, 0.9], [0.9, 1]], samplesUsed: null, subgroupSize: 1, method: 'given' };
 * tSquaredContributions([11, 4], standard, { names: ['width', 'runout'] });
 * // available, tSquared 20.0…, largest "width", characteristics[0].conditional 19.0…, characteristics[1].unconditional 1
 */
export function tSquaredContributions(
  observation: Observation,
  standard: MultivariateStandard,
  options: { readonly names?: readonly string[]; readonly size?: number } = {},
): Outcome<TSquaredContributions> {
  requireMultivariateStandard(standard, 'standard');
  requireObservation(observation, 'observation', standard.mean.length, 'standard.mean');
  const { size = 1 } = options;
  requireWhole(size, 1, 1e6, 'options.size');
  const names = characteristicNames(options.names, standard.mean.length, 'options.names');
  const made = whitening(standard, names);
  if (!made.available) return made;
  const deviations = observation.map((x, j) => x - standard.mean[j]!);
  return { available: true, ...contributions(deviations, made.whitening, size, names) };
}

/** Contributions of deviations from the mean whose covariance is that of the whitening over `precision`. */
export function contributions(
  deviations: Observation,
  { scale, inverseFactor }: Whitening,
  precision: number,
  names: readonly string[],
): TSquaredContributions {
  const p = deviations.length;
  const whitened = deviations.map((_, i) => {
    let sum = 0;
    for (let j = 0; j <= i; j++) sum += inverseFactor[(i * (i + 1)) / 2 + j]! * deviations[j]!;
    return sum;
  });
  const tSquared = precision * whitened.reduce((sum, w) => sum + w * w, 0);
  if (!(tSquared <= largestTSquared)) throw tooFar('observation', deviations);
  const characteristics = names.map((name, j): CharacteristicContribution => {
    // With Q the inverse covariance, T² − T² without j = (Qd)ⱼ²/Qⱼⱼ: no difference of two large numbers.
    let projected = 0;
    let own = 0;
    for (let i = j; i < p; i++) {
      const entry = inverseFactor[(i * (i + 1)) / 2 + j]! * scale[j]!;
      projected += entry * whitened[i]!;
      own += entry * entry;
    }
    return {
      name,
      conditional: (precision * projected * projected) / own,
      unconditional: precision * (deviations[j]! / scale[j]!) ** 2,
    };
  });
  const largest = characteristics.reduce((best, one) =>
    // Equal up to rounding is a tie.
    one.conditional > best.conditional * (1 + 1e-9) ? one : best,
  );
  return { tSquared, characteristics, largest: largest.name, message: sentence(largest, tSquared) };
}

/** Three standard deviations of its own: beyond them a value is unusual by itself. */
const unusualAlone = 9;

function sentence(
  { name, conditional, unconditional }: CharacteristicContribution,
  tSquared: number,
): string {
  const share = `${name} contributes most: without it T² falls from ${short(tSquared)} to ${short(Math.max(0, tSquared - conditional))}`;
  return unconditional > unusualAlone
    ? `${share}, and it lies ${short(Math.sqrt(unconditional))} standard deviations from its own mean. Look at ${name} first.`
    : `${share}. By itself it is within three standard deviations, but it does not fit the other characteristics. Measure ${name} again, then look for what changed its relation to them.`;
}

function short(value: number): string {
  return String(Number(value.toPrecision(3)));
}

import { requireFinite, requireName } from '../checks.ts';
import { StatisticsError } from '../errors.ts';
import { boxCoxPower, boxCoxValue } from './box-cox-transform.ts';
import { yeoJohnsonPower, yeoJohnsonValue } from './fit-yeo-johnson.ts';

export type PowerTransformationMethod = 'box-cox' | 'yeo-johnson';
export const powerTransformationMethods: readonly PowerTransformationMethod[] = ['box-cox', 'yeo-johnson'];

export interface PowerTransformOptions {
  readonly method: PowerTransformationMethod;
  readonly lambda: number;
}

/**
 * One number on the scale of a power: a value, or a specification limit that goes along with the values. The
 * transformation increases, so limits keep their side.
 *
 * @param x        finite, in the unit of the values; above 0 for 'box-cox'. A lower limit of 0 has no place on the
 *                 logarithmic scale or below: it can never be passed, leave it out.
 * @param options  method and power, as in `fitPowerTransformation`'s result.
 * @returns        (x^lambda − 1)/lambda or ln x; for 'yeo-johnson' the same of 1 + x, mirrored below 0.
 * @throws         StatisticsError `not-finite`, `unknown-name`, `out-of-range` (naming x; also where the power is beyond
 *                 the range of numbers).
 *
 * Source: G. E. P. Box and D. R. Cox, Journal of the Royal Statistical Society B 26(2), 1964; I.-K. Yeo and R. A.
 * Johnson, Biometrika 87(4), 2000 (cited from memory).
 *
 * @example
 * powerTransform(4, { method: 'box-cox', lambda: 0.5 });
 * // 2
 */
export function powerTransform(x: number, { method, lambda }: PowerTransformOptions): number {
  requireArguments(x, 'x', method, lambda);
  if (method === 'box-cox' && x <= 0)
    throw new StatisticsError('out-of-range', 'x', x, 'Powers after Box and Cox take values above 0 only.');
  return answer(method === 'box-cox' ? boxCoxPower(x, lambda) : yeoJohnsonPower(x, lambda), 'x', x);
}

/**
 * The way back from the scale of a power to the unit of the values: for a quantile or a limit that was computed there.
 *
 * @param y        finite, on the transformed scale.
 * @param options  method and power.
 * @returns        in the unit of the values. Powers end at −1/lambda: beyond that the natural bound, 0, for a power
 *                 above 0.
 * @throws         StatisticsError `not-finite`, `unknown-name`, `out-of-range` where no number has that power.
 *
 * Source: as for `powerTransform`, solved for x.
 *
 * @example
 * powerTransformBack(2, { method: 'box-cox', lambda: 0.5 });
 * // 4
 */
export function powerTransformBack(y: number, { method, lambda }: PowerTransformOptions): number {
  requireArguments(y, 'y', method, lambda);
  return answer(method === 'box-cox' ? boxCoxValue(y, lambda) : yeoJohnsonValue(y, lambda), 'y', y);
}

function requireArguments(
  value: number,
  argument: string,
  method: PowerTransformationMethod,
  lambda: number,
): void {
  requireFinite(value, argument);
  requireName(method, powerTransformationMethods, 'options.method');
  requireFinite(lambda, 'options.lambda');
}

function answer(result: number, argument: string, value: number): number {
  if (!Number.isFinite(result))
    throw new StatisticsError(
      'out-of-range',
      argument,
      value,
      'With this power the answer lies beyond the range of numbers.',
    );
  return result;
}

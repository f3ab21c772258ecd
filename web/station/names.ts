/** Numbers with their unit, as the Station shows them. */
import type { Characteristic, Unit } from '../../api/schemas.ts';
import { formatNumber } from '../format.ts';
import { decimalMark } from '../session.ts';
import { withDecimalComma } from './decimal-comma.ts';

const withUnit = (text: string, unit: Unit): string => (unit === '1' ? text : `${text}\u00a0${unit}`);

/** The value to the last digit that was typed, with at least the decimals of the gauge. */
export function exactNumber(value: number, decimals: number): string {
  const digits = /\.(\d+)$/.exec(String(value))?.[1]?.length ?? 0;
  return formatNumber(value, Math.max(decimals, digits));
}

export const exactWithUnit = (value: number, { decimals, unit }: Characteristic): string =>
  withUnit(exactNumber(value, decimals), unit);

export const roundedWithUnit = (value: number | null, { decimals, unit }: Characteristic): string =>
  value === null ? '–' : withUnit(formatNumber(value, decimals), unit);

/** A sentence about measured values, in the decimal mark of this device. */
export const inOwnMark = (sentence: string, { unit }: Characteristic): string =>
  decimalMark.value === ',' ? withDecimalComma(sentence, unit) : sentence;

/** Statistics of a sample resolve one digit more than its readings. */
export const statisticWithUnit = (value: number | null, characteristic: Characteristic): string =>
  roundedWithUnit(value, { ...characteristic, decimals: characteristic.decimals + 1 });

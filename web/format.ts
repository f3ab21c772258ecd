/** How numbers and times are written on the page, and how typed numbers are read. */
import { decimalMark } from './session.ts';

/** Writes a number with the decimals that the gauge resolves. */
export function formatNumber(value: number | null, decimals: number): string {
  if (value === null) return '–';
  const text = value.toFixed(decimals).replace('-', '−');
  return decimalMark.value === ',' ? text.replace('.', ',') : text;
}

/** Whole numbers with a thin space between thousands, the same in every country. */
export const formatCount = (value: number): string =>
  String(Math.round(value)).replace(/\B(?=(\d{3})+$)/g, '\u202f');

/** Reads a typed number with comma or point; null where it is not one number. */
export function parseTyped(text: string): number | null {
  const plain = text.trim().replace('−', '-').replace(',', '.');
  return /^[+-]?(\d+\.?\d*|\.\d+)$/.test(plain) ? Number(plain) : null;
}

const pad = (value: number): string => String(value).padStart(2, '0');
const shifted = (time: string | number, utcOffsetMinutes: number): Date =>
  new Date(new Date(time).getTime() + utcOffsetMinutes * 60_000);

/** Plant-local time of day, 14:30. */
export function formatTime(time: string | number, utcOffsetMinutes: number): string {
  const local = shifted(time, utcOffsetMinutes);
  return `${pad(local.getUTCHours())}:${pad(local.getUTCMinutes())}`;
}

/** Plant-local date, 2025-10-11: the one order that nobody misreads. */
export function formatDate(time: string | number, utcOffsetMinutes: number): string {
  return shifted(time, utcOffsetMinutes).toISOString().slice(0, 10);
}

export const formatDateTime = (time: string | number, utcOffsetMinutes: number): string =>
  `${formatDate(time, utcOffsetMinutes)} ${formatTime(time, utcOffsetMinutes)}`;

/** "12 min", "3 h 05 min", "2 d 4 h". */
export function formatDuration(milliseconds: number): string {
  const minutes = Math.max(0, Math.floor(milliseconds / 60_000));
  if (minutes < 60) return `${minutes} min`;
  const hours = Math.floor(minutes / 60);
  return hours < 48 ? `${hours} h ${pad(minutes % 60)} min` : `${Math.floor(hours / 24)} d ${hours % 24} h`;
}

import type { DateFormat } from '../schemas.ts';
import { timeOfSerial } from './workbook/serial-date.ts';

// Own reading instead of a library's: theirs goes through the server's time zone, and where that one springs
// forward a time of the plant is moved by an hour.
const clockTime = String.raw`[ T]+(?<hour>\d{1,2}):(?<minute>\d\d)(?::(?<second>\d\d)(?:[.,](?<fraction>\d{1,9}))?)?`;
const yearFirst = String.raw`(?<year>\d{4})-(?<month>\d{1,2})-(?<day>\d{1,2})`;

const patterns: Readonly<Record<Exclude<DateFormat, 'serial'>, RegExp>> = {
  iso: new RegExp(`^${yearFirst}${clockTime} ?(?<zone>Z|[+-]\\d\\d:?\\d\\d)?$`),
  'yyyy-MM-dd HH:mm': new RegExp(`^${yearFirst}${clockTime}$`),
  'dd.MM.yyyy HH:mm': new RegExp(
    String.raw`^(?<day>\d{1,2})\.(?<month>\d{1,2})\.(?<year>\d{4})${clockTime}$`,
  ),
  'dd/MM/yyyy HH:mm': new RegExp(String.raw`^(?<day>\d{1,2})/(?<month>\d{1,2})/(?<year>\d{4})${clockTime}$`),
  'MM/dd/yyyy HH:mm': new RegExp(String.raw`^(?<month>\d{1,2})/(?<day>\d{1,2})/(?<year>\d{4})${clockTime}$`),
};

const written: Readonly<Record<DateFormat, string>> = {
  iso: '2025-09-30T06:30:00+02:00 or 2025-09-30 06:30',
  'yyyy-MM-dd HH:mm': '2025-09-30 06:30',
  'dd.MM.yyyy HH:mm': '30.09.2025 06:30',
  'dd/MM/yyyy HH:mm': '30/09/2025 06:30',
  'MM/dd/yyyy HH:mm': '09/30/2025 06:30',
  serial: '45930.2708 (days since the end of 1899)',
};

function zoneMinutes(zone: string): number {
  if (zone === 'Z') return 0;
  const minutes = Number(zone.slice(1, 3)) * 60 + Number(zone.slice(-2));
  return zone.startsWith('-') ? -minutes : minutes;
}

/**
 * Reads a date with a time of day; seconds and their fraction may follow. Without a distance from UTC it is the
 * plant's local time. A date that the calendar does not have comes back as the problem, in words.
 */
export function readTime(
  text: string,
  format: DateFormat,
  utcOffsetMinutes: number,
): number | { readonly problem: string } {
  const trimmed = text.trim();
  if (trimmed === '') return { problem: 'the time is empty' };
  const other = { problem: `this is not a time written like ${written[format]}` };
  if (format === 'serial') {
    const time = /^\d{1,7}(?:[.,]\d+)?$/.test(trimmed)
      ? timeOfSerial(Number(trimmed.replace(',', '.')))
      : null;
    return time === null ? other : time - utcOffsetMinutes * 60_000;
  }
  const parts = patterns[format].exec(trimmed)?.groups;
  if (parts === undefined) return other;
  const [year, month, day] = [Number(parts.year), Number(parts.month), Number(parts.day)];
  const [hour, minute, second] = [Number(parts.hour), Number(parts.minute), Number(parts.second ?? 0)];
  const milliseconds = Math.floor(Number(`0.${parts.fraction ?? 0}`) * 1000);
  const time = new Date(Date.UTC(year, month - 1, day, hour, minute, second, milliseconds));
  const exists =
    time.getUTCMonth() === month - 1 && time.getUTCDate() === day && hour < 24 && minute < 60 && second < 60;
  if (!exists) return { problem: 'there is no such date or time of day' };
  const offset = parts.zone === undefined ? utcOffsetMinutes : zoneMinutes(parts.zone);
  return time.getTime() - offset * 60_000;
}

const anyTime = /^(?:\d{4}-\d\d?-\d\d?|\d\d?[./]\d\d?[./]\d{4})(?:[ T]+\d\d?:\d\d(?::\d\d)?.*)?$/;

/** A date in any of the formats: for guessing what a column holds. */
export const looksLikeTime = (text: string): boolean => anyTime.test(text.trim());

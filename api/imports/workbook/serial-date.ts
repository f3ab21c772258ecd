/** Dates as spreadsheets hold them: days since an epoch, the time of day as the fraction (ECMA-376 part 1, 18.17.4). */

const DAY = 86_400_000;
/** With the day that spreadsheets count although 1900 had no 29 February; right from 1 March 1900 on. */
const EPOCH_1900 = Date.UTC(1899, 11, 30);
const EPOCH_1904 = Date.UTC(1904, 0, 1);
const LAST_SERIAL = 2_958_466;

/** Local time as if it were UTC, to the millisecond; null where no spreadsheet would show a date. */
export function timeOfSerial(serial: number, from1904 = false): number | null {
  if (!(serial >= (from1904 ? 0 : 61) && serial < LAST_SERIAL)) return null;
  return (from1904 ? EPOCH_1904 : EPOCH_1900) + Math.round(serial * DAY);
}

/** Number formats that every spreadsheet knows without being told, and that show dates (ECMA-376 part 1, 18.8.30). */
const isBuiltInDate = (id: number): boolean =>
  (id >= 14 && id <= 22) || (id >= 27 && id <= 36) || (id >= 45 && id <= 47) || (id >= 50 && id <= 58);

/** Does a number format show a date or a time? Quoted words, colours and locales in it do not count. */
export function showsDate(id: number, code: string | undefined): boolean {
  if (code === undefined) return isBuiltInDate(id);
  const bare = code
    .split(';')[0]!
    .replace(/"[^"]*"|\\.|_.|\*./g, '')
    .replace(/\[(?!(?:h+|m+|s+)\])[^\]]*\]/gi, '')
    .replace(/general/gi, '');
  return /[dmyhs]/i.test(bare);
}

/** A date as text in the form that dates of files are read in: "2025-09-01 06:30:00". */
export function dateText(serial: number, from1904: boolean): string | null {
  const time = timeOfSerial(serial, from1904);
  return time === null
    ? null
    : new Date(time)
        .toISOString()
        .replace('T', ' ')
        .replace(/(?:\.000)?Z$/, '');
}

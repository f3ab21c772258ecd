/** What the columns of a file probably hold, so that a clean file needs few choices. Only a first proposal. */
import type { DateFormat, ImportFile } from '../../api/schemas.ts';

const NUMBER = /^[+-]?(?:\d+[.,]?\d*|[.,]\d+)(?:[eE][+-]?\d+)?$/;
/** Days since the end of 1899, of the years from 2000 to 2099, as spreadsheets hold a date. */
const SERIAL = /^(?:36[6-9]\d\d|3[7-9]\d{3}|[4-6]\d{4}|7[0-2]\d{3})(?:[.,]\d+)?$/;
const TIME = /^(?:\d{4}-\d\d?-\d\d?|\d\d?([./])\d\d?\1\d{4})[ T]+\d\d?:\d\d/;

const named = {
  lot: /^(?:lot|coil|heat)\b/i,
  sample: /^(?:sample|subgroup|batch|group|set)(?:$|[^a-z])|^(?:sample|subgroup|batch)id$/i,
  inspected: /inspected|checked|tested|^n$|size/i,
  nonconforming: /nonconforming|reject|defect|bad|leak|fault/i,
  /** What goes along with readings but is none. */
  notReading:
    /^(?:mean|average|range|standard ?deviation|revision|position|no\.?|number|row|index|fraction.*)$/i,
} as const;

export interface ColumnGuess {
  readonly form: 'wide' | 'long';
  readonly valueColumns: readonly number[];
  /** The column whose text holds the rows of a sample together. */
  readonly sampleColumn: number | null;
  readonly inspectedColumn: number | null;
  readonly nonconformingColumn: number | null;
  readonly timeColumn: number | null;
  readonly timeFormat: DateFormat;
  readonly lotColumn: number | null;
}

/** A column of dates as bare numbers: it must say so in its name, for readings may be such numbers too. */
const saysTime = /^(?:date|time|day|taken)/i;

/** Day or month first? A number above 12 is a day; without one, the day, as most of the world writes it. */
function guessTimeFormat(texts: readonly string[]): DateFormat {
  const first = texts[0] ?? '';
  if (SERIAL.test(first)) return 'serial';
  if (/^\d\d?\./.test(first)) return 'dd.MM.yyyy HH:mm';
  if (!/^\d\d?\//.test(first)) return 'iso';
  return texts.some((text) => Number(text.split('/')[1]) > 12) ? 'MM/dd/yyyy HH:mm' : 'dd/MM/yyyy HH:mm';
}

/** Proposes what each column is, from its name and its first rows. */
export function guessColumns({ columns, firstRows }: Pick<ImportFile, 'columns' | 'firstRows'>): ColumnGuess {
  const texts = columns.map((_, column) =>
    firstRows.map((row) => row[column]?.trim() ?? '').filter((text) => text !== ''),
  );
  const places = columns.map((_, column) => column);
  // Half of the cells are enough: a column with one bad cell must not be left out unseen, with all its readings;
  // chosen, its bad cells are named in the preview.
  const mostly = (column: number, pattern: RegExp): boolean =>
    texts[column]!.length > 0 &&
    texts[column]!.filter((text) => pattern.test(text)).length >= texts[column]!.length / 2;
  const find = (pattern: RegExp, among: readonly number[]): number | null =>
    among.find((column) => pattern.test(columns[column]!)) ?? null;

  const timeColumn =
    places.find((column) => mostly(column, TIME)) ??
    places.find((column) => saysTime.test(columns[column]!) && mostly(column, SERIAL)) ??
    null;
  const rest = places.filter((column) => column !== timeColumn);
  const lotColumn = find(named.lot, rest);
  const sampleColumn = find(
    named.sample,
    rest.filter((column) => column !== lotColumn),
  );
  const numbers = rest.filter(
    (column) =>
      column !== lotColumn &&
      column !== sampleColumn &&
      mostly(column, NUMBER) &&
      !named.notReading.test(columns[column]!),
  );
  const numbered = numbers.filter((column) => /^reading ?\d*$/i.test(columns[column]!));
  const valueColumns = numbered.length > 0 ? numbered : numbers;
  const repeats = sampleColumn !== null && new Set(texts[sampleColumn]).size < texts[sampleColumn]!.length;
  const inspectedColumn = find(named.inspected, numbers);
  const nonconformingColumn = find(named.nonconforming, numbers);
  return {
    form: repeats && valueColumns.length === 1 ? 'long' : 'wide',
    valueColumns,
    sampleColumn,
    inspectedColumn,
    nonconformingColumn: nonconformingColumn === inspectedColumn ? null : nonconformingColumn,
    timeColumn,
    timeFormat: guessTimeFormat(
      timeColumn === null ? [] : texts[timeColumn]!.filter((text) => TIME.test(text) || SERIAL.test(text)),
    ),
    lotColumn,
  };
}

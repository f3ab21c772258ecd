import type { CsvShape } from '../schemas.ts';
import type { Period, SampleRow, Store } from '../store/store.ts';
import { guardText } from './text-guard.ts';
import { walkSamples } from './walk-samples.ts';

export interface ExportRequest {
  readonly streamId: string;
  readonly modelId: string;
  readonly period: Period;
  /** wide: one row a sample. long: one row a reading. */
  readonly form: 'wide' | 'long';
  readonly delimiter: CsvShape['delimiter'];
  readonly decimalMark: CsvShape['decimalMark'];
  readonly counted: boolean;
  readonly utcOffsetMinutes: number;
}

type Cell = string | number | null;

/** Plant-local time with its distance from UTC, to the millisecond where there are any. */
function localIsoTime(time: number, utcOffsetMinutes: number): string {
  const local = new Date(time + utcOffsetMinutes * 60_000).toISOString().slice(0, -1).replace('.000', '');
  const distance = Math.abs(utcOffsetMinutes);
  const two = (value: number): string => String(value).padStart(2, '0');
  return `${local}${utcOffsetMinutes < 0 ? '-' : '+'}${two(Math.floor(distance / 60))}:${two(distance % 60)}`;
}

function rowWriter({ delimiter, decimalMark }: Pick<ExportRequest, 'delimiter' | 'decimalMark'>) {
  const write = (cell: Cell): string => {
    const text =
      typeof cell === 'number'
        ? String(cell).replace('.', decimalMark)
        : cell === null
          ? ''
          : guardText(cell);
    // Columns apart by blanks only: an empty cell would vanish without its quotes.
    const vanishes = delimiter === ' ' && (text === '' || text.includes('\t'));
    return vanishes || text.includes(delimiter) || /["\r\n]/.test(text)
      ? `"${text.replaceAll('"', '""')}"`
      : text;
  };
  return (cells: readonly Cell[]): string => `${cells.map(write).join(delimiter)}\r\n`;
}

/**
 * Samples as CSV text (RFC 4180), oldest first, some hundreds at a time: what stands there now, by revision, with
 * its statistics. Text that a spreadsheet would run as a formula gets an apostrophe in front.
 */
export async function* exportSamples(store: Store, request: ExportRequest): AsyncGenerator<string> {
  const { streamId, modelId, period, form, counted, utcOffsetMinutes } = request;
  const write = rowWriter(request);
  const walk = () => walkSamples(store, streamId, modelId, period);
  const about = ['takenAt', 'sampleId', 'revision', 'person', 'lot'];
  const head = (row: SampleRow): Cell[] => [
    localIsoTime(row.takenAt, utcOffsetMinutes),
    row.id,
    row.revision,
    row.personId,
    row.lot,
  ];

  if (counted) {
    yield write([...about, 'inspected', 'nonconforming', 'fractionNonconforming']);
    for await (const rows of walk()) {
      yield rows
        .map(({ count, ...row }) => {
          const parts =
            count === null
              ? [null, null, null]
              : [count.inspected, count.nonconforming, count.nonconforming / count.inspected];
          return write([...head({ count, ...row }), ...parts]);
        })
        .join('');
    }
    return;
  }

  const statistics = ['mean', 'range', 'standardDeviation'];
  const statisticsOf = (row: SampleRow): Cell[] => [row.mean, row.range, row.standardDeviation];
  if (form === 'long') {
    yield write([...about, 'position', 'reading', ...statistics]);
    for await (const rows of walk()) {
      yield rows
        .map((row) =>
          (row.readings ?? [])
            .map(({ value }, index) => write([...head(row), index + 1, value, ...statisticsOf(row)]))
            .join(''),
        )
        .join('');
    }
    return;
  }

  let columns = 1;
  for await (const rows of walk())
    for (const row of rows) columns = Math.max(columns, row.readings?.length ?? 0);
  const numbers = Array.from({ length: columns }, (_, index) => index);
  yield write([...about, ...numbers.map((index) => `reading${index + 1}`), ...statistics]);
  for await (const rows of walk()) {
    yield rows
      .map((row) => {
        const length = row.readings?.length ?? 0;
        // Stored between the two readings of the table; a row with a reading cut off would be worse than no file.
        if (length > columns)
          throw new Error(`sample ${row.id} has more readings than the export has columns`);
        return write([
          ...head(row),
          ...numbers.map((index) => row.readings?.[index]?.value ?? null),
          ...statisticsOf(row),
        ]);
      })
      .join('');
  }
}

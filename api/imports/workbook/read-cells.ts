import { MAX_COLUMNS, MAX_MERGES, MAX_SHEET_BYTES } from '../import-bounds.ts';
import { UnreadableFile } from '../unreadable-file.ts';
import type { Workbook } from './describe-workbook.ts';
import { parseXml } from './parse-xml.ts';
import type { Archive } from './read-archive.ts';
import { dateText } from './serial-date.ts';

/** A row as it stands in a sheet; empty cells are left out of the map. */
export interface SheetRow {
  readonly line: number;
  readonly cells: ReadonlyMap<number, string>;
}

/** Cells shown as one. Rows are 1-based, columns 0-based, both ends included. */
export interface Merge {
  readonly firstRow: number;
  readonly lastRow: number;
  readonly firstColumn: number;
  readonly lastColumn: number;
}

const PLACE = /^([A-Z]{1,3})(\d{1,7})$/;

function columnOf(letters: string): number {
  let column = 0;
  for (const letter of letters) column = column * 26 + letter.charCodeAt(0) - 64;
  return column - 1;
}

function mergeOf(range: string): Merge | null {
  const [from = '', to = from] = range.split(':');
  const [first, last] = [PLACE.exec(from), PLACE.exec(to)];
  if (first === null || last === null) return null;
  return {
    firstRow: Number(first[2]),
    lastRow: Number(last[2]),
    firstColumn: columnOf(first[1]!),
    lastColumn: columnOf(last[1]!),
  };
}

/** Spreadsheets show 15 digits; the two or more that binary numbers carry beyond them are no measurement. */
const numberText = (value: number, decimalMark: '.' | ','): string =>
  String(Number(value.toPrecision(15))).replace('.', decimalMark);

/** Reads the cells of a sheet as text, in the order of the file. Merges come after the last row. */
export async function* readCells(
  archive: Archive,
  part: string,
  { from1904, dateStyles }: Workbook,
  texts: readonly string[],
  { decimalMark, onMerge }: { decimalMark: '.' | ','; onMerge?: (merge: Merge) => void },
): AsyncGenerator<SheetRow> {
  let read: SheetRow[] = [];
  let line = 0;
  let column = -1;
  let cells = new Map<number, string>();
  let type = 'n';
  let style = -1;
  let value = '';
  let takes = false;
  let phonetic = 0;
  let merges = 0;

  const textOf = (): string => {
    if (type === 's') return texts[Number(value)] ?? '';
    if (type === 'b') return value === '1' ? 'true' : 'false';
    if (type !== 'n' || value === '') return value;
    const number = Number(value);
    if (!Number.isFinite(number)) return value;
    const date = dateStyles[style] === true ? dateText(number, from1904) : null;
    return date ?? numberText(number, decimalMark);
  };

  const steps = parseXml(archive.read(part, MAX_SHEET_BYTES), {
    open: (tag, attributes) => {
      if (tag === 'row') {
        line = attributes.r === undefined ? line + 1 : Number(attributes.r);
        if (!Number.isSafeInteger(line) || line < 1)
          throw new UnreadableFile('A row of the sheet has no valid number.');
        column = -1;
        cells = new Map();
      } else if (tag === 'c') {
        const place = PLACE.exec(attributes.r ?? '');
        column = place === null ? column + 1 : columnOf(place[1]!);
        type = attributes.t ?? 'n';
        style = Number(attributes.s ?? -1);
        value = '';
      } else if (tag === 'rPh') phonetic += 1;
      else if (tag === 'v' || (tag === 't' && phonetic === 0)) takes = true;
      else if (tag === 'mergeCell' && onMerge !== undefined) {
        merges += 1;
        if (merges > MAX_MERGES)
          throw new UnreadableFile(`The sheet has more than ${MAX_MERGES} merged cells; undo the merges.`);
        const merge = mergeOf(attributes.ref ?? '');
        if (merge !== null) onMerge(merge);
      }
    },
    text: (piece) => {
      if (takes) value += piece;
    },
    close: (tag) => {
      if (tag === 'v' || tag === 't') takes = false;
      else if (tag === 'rPh') phonetic -= 1;
      else if (tag === 'c') {
        const text = textOf();
        if (text.trim() === '') return;
        if (column >= MAX_COLUMNS)
          throw new UnreadableFile(
            `Row ${line} has more than ${MAX_COLUMNS} columns; no more are read.`,
            line,
          );
        cells.set(column, text);
      } else if (tag === 'row' && cells.size > 0) read.push({ line, cells });
    },
  });
  for await (const _ of steps) {
    const rows = read;
    read = [];
    yield* rows;
  }
}

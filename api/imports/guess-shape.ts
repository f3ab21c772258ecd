import type { CsvShape } from '../schemas.ts';
import { looksLikeNumber } from './read-number.ts';
import { parseRows, type Row } from './read-rows.ts';
import { looksLikeTime } from './read-time.ts';
import { UnreadableFile } from './unreadable-file.ts';

/** In the order in which they win where two fit equally well. */
const delimiters: readonly CsvShape['delimiter'][] = [';', '\t', ',', '|', ' '];
const MAX_ROWS = 200;

const isNumber = (text: string): boolean => looksLikeNumber(text, '.') || looksLikeNumber(text, ',');
const isValue = (text: string): boolean => isNumber(text) || looksLikeTime(text);

/** A cell that still holds what may be a delimiter, or two numbers, was probably cut in the wrong place. */
function wellCut(cell: string, delimiter: CsvShape['delimiter']): boolean {
  const text = cell.trim();
  if (text === '' || isValue(text)) return true;
  if (delimiters.some((other) => other !== delimiter && other !== ' ' && text.includes(other))) return false;
  return !/^[\d.,+-]+(?:[ \t]+[\d.,+-]+)+$/.test(text);
}

async function firstRows(head: string, delimiter: CsvShape['delimiter']): Promise<readonly Row[]> {
  const rows: Row[] = [];
  const piece = (async function* () {
    yield head;
  })();
  try {
    for await (const row of parseRows(piece, delimiter)) if (rows.push(row) === MAX_ROWS) break;
  } catch (error) {
    if (!(error instanceof UnreadableFile)) throw error;
  }
  return rows;
}

/** How well a delimiter fits, 0 to 1: do all rows have the same number of cells, and are the cells whole? */
function fitOf(rows: readonly Row[], delimiter: CsvShape['delimiter']): { fit: number; columns: number } {
  const widths = new Map<number, number>();
  let cells = 0;
  let whole = 0;
  for (const row of rows) {
    widths.set(row.cells.length, (widths.get(row.cells.length) ?? 0) + 1);
    cells += row.cells.length;
    for (const cell of row.cells) if (wellCut(cell, delimiter)) whole += 1;
  }
  const [columns, count] = [...widths].reduce((best, next) => (next[1] > best[1] ? next : best), [0, 0]);
  return rows.length === 0
    ? { fit: 0, columns: 0 }
    : { fit: (count / rows.length) * (whole / cells), columns };
}

function guessDecimalMark(rows: readonly Row[]): '.' | ',' {
  let balance = 0;
  for (const row of rows) {
    for (const cell of row.cells) {
      if (cell.includes(',') && looksLikeNumber(cell, ',')) balance += 1;
      if (cell.includes('.') && looksLikeNumber(cell, '.')) balance -= 1;
    }
  }
  return balance > 0 ? ',' : '.';
}

/** A header has words and no value. */
export function guessHeader(first: Row | undefined): boolean {
  return (
    first?.cells.some((cell) => cell.trim() !== '') === true && !first.cells.some((cell) => isValue(cell))
  );
}

/** Guesses delimiter, decimal mark and header row from the first lines of a file. A person can set it right. */
export async function guessShape(head: string, encoding: CsvShape['encoding']): Promise<CsvShape> {
  let best: { delimiter: CsvShape['delimiter']; rows: readonly Row[]; fit: number; columns: number } | null =
    null;
  for (const delimiter of delimiters) {
    const rows = await firstRows(head, delimiter);
    const candidate = { delimiter, rows, ...fitOf(rows, delimiter) };
    if (
      best === null ||
      candidate.fit > best.fit + 1e-9 ||
      (candidate.fit > best.fit - 1e-9 && candidate.columns > best.columns)
    ) {
      best = candidate;
    }
  }
  const { delimiter, rows, columns } = best!;
  const decimalMark = guessDecimalMark(rows);
  return {
    // A single column is cut nowhere; its decimal commas must not be cut either.
    delimiter: columns > 1 ? delimiter : decimalMark === ',' ? ';' : ',',
    decimalMark,
    encoding,
    headerRow: guessHeader(rows[0]),
  };
}

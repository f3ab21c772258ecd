import type { CsvShape, FileShape, ImportFile, SheetShape } from '../schemas.ts';
import { columnNames } from './column-names.ts';
import { decodeText } from './decode-text.ts';
import type { FileBytes } from './file-bytes.ts';
import { guessHeader, guessShape } from './guess-shape.ts';
import { looksLikeNumber } from './read-number.ts';
import { type Row, readRows } from './read-rows.ts';
import { UnreadableFile } from './unreadable-file.ts';
import type { ReceivedFile } from './waiting-files.ts';
import { readSheet, sheetNames } from './workbook/read-sheet.ts';

const SHOWN_ROWS = 20;
const GUESSED_ROWS = 200;
const HEAD_CHARACTERS = 64 * 1024;

/** The first lines of a file, without one that is cut off. */
async function readHead(file: FileBytes, encoding: CsvShape['encoding']): Promise<string> {
  let head = '';
  for await (const piece of decodeText(file, encoding)) {
    head += piece;
    if (head.length > HEAD_CHARACTERS) return head.slice(0, head.lastIndexOf('\n') + 1);
  }
  return head;
}

/** One JSON object or list a line; a first line that is both that and CSV is taken as JSON. */
function isJsonLines(head: string): boolean {
  const first = head
    .replace(/^\ufeff/, '')
    .trimStart()
    .split('\n', 1)[0]!;
  if (!/^[[{]/.test(first)) return false;
  try {
    JSON.parse(first);
    return true;
  } catch {
    return false;
  }
}

/** How the first sheet is read that holds a table. Its numbers have no decimal mark; its texts may have a comma. */
async function guessSheet(file: FileBytes): Promise<SheetShape> {
  const names = await sheetNames(file);
  const asSheet = (sheet: string): SheetShape => ({
    format: 'workbook',
    sheet,
    decimalMark: '.',
    headerRow: true,
  });
  for (const sheet of names) {
    const rows: Row[] = [];
    for await (const row of readSheet(file, asSheet(sheet))) if (rows.push(row) === GUESSED_ROWS) break;
    if (rows.length < 2) continue;
    const commas = rows.some(({ cells }) =>
      cells.some((cell) => cell.includes(',') && looksLikeNumber(cell, ',')),
    );
    return { ...asSheet(sheet), headerRow: guessHeader(rows[0]), decimalMark: commas ? ',' : '.' };
  }
  return asSheet(names[0]!);
}

/** Guesses how a file is read. A person can set it right. */
export async function guessShapeOf(file: ReceivedFile): Promise<FileShape> {
  const { content } = file;
  if (content === 'workbook') return guessSheet(file);
  const head = await readHead(file, content);
  if (content === 'utf-8' && isJsonLines(head))
    return { format: 'json-lines', decimalMark: '.', headerRow: true };
  return guessShape(head, content);
}

/** Columns of the first row; 0 where there is none. */
export async function countColumns(file: FileBytes, shape: FileShape): Promise<number> {
  for await (const { cells } of readRows(file, shape)) return cells.length;
  return 0;
}

const empty = (shape: FileShape): string =>
  'format' in shape && shape.format === 'workbook'
    ? `The sheet ${JSON.stringify(shape.sheet)} is empty; choose another.`
    : 'The file is empty.';

/** Reads a whole file: what its columns are, how many rows there are, and the first of them. */
export async function lookAtFile(
  file: FileBytes,
  shape: FileShape,
): Promise<Pick<ImportFile, 'rows' | 'columns' | 'firstRows' | 'sheets'>> {
  let columns: readonly string[] | null = null;
  let rows = 0;
  const firstRows: string[][] = [];
  for await (const { cells } of readRows(file, shape)) {
    if (columns === null) {
      columns = columnNames(cells, shape.headerRow);
      if (shape.headerRow) continue;
    }
    rows += 1;
    if (firstRows.length < SHOWN_ROWS) firstRows.push([...cells]);
  }
  if (columns === null) throw new UnreadableFile(empty(shape));
  if (rows === 0) throw new UnreadableFile('There is a header row but no row of data.');
  const sheets = 'format' in shape && shape.format === 'workbook' ? [...(await sheetNames(file))] : undefined;
  return { rows, columns: [...columns], firstRows, ...(sheets && { sheets }) };
}

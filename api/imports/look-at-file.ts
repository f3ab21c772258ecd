import type { CsvShape, ImportFile } from '../schemas.ts';
import { columnNames } from './column-names.ts';
import { decodeText } from './decode-text.ts';
import { guessShape } from './guess-shape.ts';
import { readRows } from './read-rows.ts';
import { UnreadableFile } from './unreadable-file.ts';
import type { ReceivedFile } from './waiting-files.ts';

const SHOWN_ROWS = 20;
const HEAD_CHARACTERS = 64 * 1024;

/** The first lines of a file, without one that is cut off. */
async function readHead({ path, encoding }: ReceivedFile): Promise<string> {
  let head = '';
  for await (const piece of decodeText(path, encoding)) {
    head += piece;
    if (head.length > HEAD_CHARACTERS) return head.slice(0, head.lastIndexOf('\n') + 1);
  }
  return head;
}

export const guessShapeOf = async (file: ReceivedFile): Promise<CsvShape> =>
  guessShape(await readHead(file), file.encoding);

/** Columns of the first row; 0 where there is none. */
export async function countColumns(path: string, shape: CsvShape): Promise<number> {
  for await (const { cells } of readRows(path, shape)) return cells.length;
  return 0;
}

/** Reads a whole file once: what its columns are, how many rows there are, and the first of them. */
export async function lookAtFile(
  path: string,
  shape: CsvShape,
): Promise<Pick<ImportFile, 'rows' | 'columns' | 'firstRows'>> {
  let columns: readonly string[] | null = null;
  let rows = 0;
  const firstRows: string[][] = [];
  for await (const { cells } of readRows(path, shape)) {
    if (columns === null) {
      columns = columnNames(cells, shape.headerRow);
      if (shape.headerRow) continue;
    }
    rows += 1;
    if (firstRows.length < SHOWN_ROWS) firstRows.push([...cells]);
  }
  if (columns === null) throw new UnreadableFile('The file is empty.');
  if (rows === 0) throw new UnreadableFile('The file has a header row but no row of data.');
  return { rows, columns: [...columns], firstRows };
}

import type { SheetShape } from '../../schemas.ts';
import type { FileBytes } from '../file-bytes.ts';
import type { Row } from '../read-rows.ts';
import { UnreadableFile } from '../unreadable-file.ts';
import { describeWorkbook, readTexts } from './describe-workbook.ts';
import { withArchive } from './read-archive.ts';
import { type Merge, readCells, type SheetRow } from './read-cells.ts';
import { continuesHead, headNames, precedesHead, type SheetFrame } from './sheet-head.ts';

/** The names of the sheets of a workbook. */
export async function sheetNames(file: FileBytes): Promise<readonly string[]> {
  const names: string[] = [];
  const found = withArchive(file, async function* (archive) {
    for (const { name } of (await describeWorkbook(archive)).sheets) yield name;
  });
  for await (const name of found) names.push(name);
  return names;
}

/** Of a cell merged over several rows, each row has the value: samples are told apart by it. */
function filledDown({ merges }: SheetFrame): (row: SheetRow) => SheetRow {
  const tall = new Map<number, Merge[]>();
  for (const merge of merges) {
    if (merge.lastRow === merge.firstRow) continue;
    tall.set(merge.firstRow, [...(tall.get(merge.firstRow) ?? []), merge]);
  }
  let open: { merge: Merge; text: string }[] = [];
  return (row) => {
    open = open.filter(({ merge }) => merge.lastRow >= row.line);
    for (const merge of tall.get(row.line) ?? []) {
      const text = row.cells.get(merge.firstColumn);
      if (text !== undefined) open.push({ merge, text });
    }
    if (open.length === 0) return row;
    const cells = new Map(row.cells);
    for (const { merge, text } of open) cells.set(merge.firstColumn, text);
    return { line: row.line, cells };
  };
}

/**
 * The rows of a sheet as those of a CSV file would come: the head as one row, then the others, all of the same width,
 * rows without any text left out. Reads the sheet twice, because its merged cells are told at its end, and holds a
 * piece of it at a time.
 *
 * @throws UnreadableFile where the workbook or the sheet cannot be read.
 */
export async function* readSheet(
  file: FileBytes,
  { sheet, decimalMark, headerRow }: SheetShape,
): AsyncGenerator<Row> {
  yield* withArchive(file, async function* (archive) {
    const workbook = await describeWorkbook(archive);
    const found = workbook.sheets.find(({ name }) => name === sheet);
    if (found === undefined) {
      const names = workbook.sheets.map(({ name }) => JSON.stringify(name)).join(', ');
      throw new UnreadableFile(`The workbook has no sheet ${JSON.stringify(sheet)}; it has ${names}.`);
    }
    const texts = await readTexts(archive, workbook.textsPart);
    const merges: Merge[] = [];
    let width = 0;
    const look = { decimalMark, onMerge: (merge: Merge) => merges.push(merge) };
    for await (const { cells } of readCells(archive, found.part, workbook, texts, look))
      for (const column of cells.keys()) width = Math.max(width, column + 1);
    const frame: SheetFrame = { width, merges };

    const rowOf = ({ line, cells }: SheetRow): Row => ({
      line,
      cells: Array.from({ length: width }, (_, column) => cells.get(column) ?? ''),
    });
    const fill = filledDown(frame);
    const head: SheetRow[] = [];
    let headEnded = !headerRow;
    for await (const row of readCells(archive, found.part, workbook, texts, { decimalMark })) {
      if (!headEnded) {
        if (head.length === 0 && precedesHead(row, frame)) continue;
        if (head.length === 0 || continuesHead(head, row, frame)) {
          head.push(row);
          continue;
        }
        headEnded = true;
        yield { line: head.at(-1)!.line, cells: headNames(head, frame) };
      }
      yield rowOf(fill(row));
    }
    if (!headEnded && head.length > 0) yield { line: head.at(-1)!.line, cells: headNames(head, frame) };
  });
}

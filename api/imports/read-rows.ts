import { CsvError, parse } from 'csv-parse';
import type { CsvShape, FileShape } from '../schemas.ts';
import { createBlankCollapser } from './collapse-blanks.ts';
import { decodeText } from './decode-text.ts';
import type { FileBytes } from './file-bytes.ts';
import { MAX_COLUMNS, MAX_LINE_CHARACTERS } from './import-bounds.ts';
import { readJsonLines } from './read-json-lines.ts';
import { UnreadableFile } from './unreadable-file.ts';
import { readSheet } from './workbook/read-sheet.ts';

export interface Row {
  /** 1-based line on which the row begins; of a sheet, the number of the row. */
  readonly line: number;
  readonly cells: readonly string[];
}

const linesInside = (cells: readonly string[]): number => {
  let lines = 0;
  for (const cell of cells) if (cell.includes('\n')) lines += cell.split('\n').length - 1;
  return lines;
};

function unreadable(error: CsvError, line: number): UnreadableFile {
  if (error.code === 'CSV_QUOTE_NOT_CLOSED') {
    return new UnreadableFile(
      `From line ${line} on: a quotation mark opens a cell and is never closed, so the rest cannot be read. ` +
        'Close it or remove it.',
      line,
    );
  }
  if (error.code === 'CSV_MAX_RECORD_SIZE') {
    return new UnreadableFile(
      `From line ${line} on: a row is longer than ${MAX_LINE_CHARACTERS} characters. Either the file has another ` +
        'layout, or a quotation mark is not closed.',
      line,
    );
  }
  return new UnreadableFile(`Line ${line} cannot be read: ${error.message}.`, line);
}

const tooManyColumns = ({ line, cells }: Row): UnreadableFile =>
  new UnreadableFile(
    `Line ${line} has ${cells.length} columns; at most ${MAX_COLUMNS} are read. Is the delimiter right?`,
    line,
  );

async function* collapsed(pieces: AsyncIterable<string>): AsyncGenerator<string> {
  const blanks = createBlankCollapser();
  for await (const piece of pieces) yield blanks.next(piece);
}

/**
 * The rows of CSV text (RFC 4180, with the delimiter given), the header row among them; rows without any text are
 * left out. Holds one piece of text at a time.
 *
 * @throws UnreadableFile at the row from which the text cannot be read any further; all rows before it came.
 */
export async function* parseRows(
  pieces: AsyncIterable<string>,
  delimiter: CsvShape['delimiter'],
): AsyncGenerator<Row> {
  let read: Row[] = [];
  let lastLine = 0;
  const parser = parse({
    delimiter,
    record_delimiter: '\n',
    relax_column_count: true,
    relax_quotes: true,
    skip_empty_lines: true,
    max_record_size: MAX_LINE_CHARACTERS,
    // Taken here, because a stream that fails drops the rows that it read but did not hand out.
    on_record: (cells: string[], { lines }) => {
      lastLine = lines;
      if (cells.length > MAX_COLUMNS || cells.some((cell) => cell.trim() !== '')) {
        read.push({ line: lines - linesInside(cells), cells });
      }
      return null;
    },
  });
  // Each failure also reaches the callback of the write that met it.
  parser.on('error', () => {});
  const settle = (act: (done: (error?: Error | null) => void) => void): Promise<CsvError | null> =>
    new Promise((done, failed) => {
      act((error) => {
        if (error instanceof CsvError) done(error);
        else if (error) failed(error);
        else done(null);
      });
    });

  function* handOut(failure: CsvError | null): Generator<Row> {
    const rows = read;
    read = [];
    for (const row of rows) {
      if (row.cells.length > MAX_COLUMNS) throw tooManyColumns(row);
      yield row;
    }
    if (failure !== null) throw unreadable(failure, lastLine + 1);
  }

  try {
    for await (const piece of delimiter === ' ' ? collapsed(pieces) : pieces) {
      yield* handOut(await settle((done) => parser.write(piece, done)));
    }
    yield* handOut(await settle((done) => parser.end(done)));
  } finally {
    parser.destroy();
  }
}

/** The rows of a file, whatever its format: the header row, where there is one, and the rows with any text in them. */
export function readRows(file: FileBytes, shape: FileShape): AsyncGenerator<Row> {
  if (!('format' in shape)) return parseRows(decodeText(file, shape.encoding), shape.delimiter);
  return shape.format === 'workbook' ? readSheet(file, shape) : readJsonLines(file, shape);
}

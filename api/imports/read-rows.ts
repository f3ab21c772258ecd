import { pipeline, Readable } from 'node:stream';
import { CsvError, type Info, parse } from 'csv-parse';
import type { CsvShape } from '../schemas.ts';
import { createBlankCollapser } from './collapse-blanks.ts';
import { decodeText } from './decode-text.ts';
import { MAX_COLUMNS, MAX_LINE_CHARACTERS } from './import-bounds.ts';
import { UnreadableFile } from './unreadable-file.ts';

export interface Row {
  /** 1-based line on which the row begins. */
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

async function* collapsed(pieces: AsyncIterable<string>): AsyncGenerator<string> {
  const blanks = createBlankCollapser();
  for await (const piece of pieces) yield blanks.next(piece);
}

/**
 * The rows of CSV text (RFC 4180, with the delimiter given), the header row among them; rows without any text are
 * left out. Holds one piece of text at a time.
 *
 * @throws UnreadableFile at the row from which the text cannot be read any further.
 */
export async function* parseRows(
  pieces: AsyncIterable<string>,
  delimiter: CsvShape['delimiter'],
): AsyncGenerator<Row> {
  const parser = parse({
    delimiter,
    record_delimiter: '\n',
    info: true,
    relax_column_count: true,
    relax_quotes: true,
    skip_empty_lines: true,
    max_record_size: MAX_LINE_CHARACTERS,
  });
  // The error comes out of the iteration below.
  pipeline(Readable.from(delimiter === ' ' ? collapsed(pieces) : pieces), parser, () => {});
  let lastLine = 0;
  try {
    for await (const { record, info } of parser as AsyncIterable<{ record: string[]; info: Info }>) {
      lastLine = info.lines;
      if (record.length > MAX_COLUMNS) {
        const line = info.lines - linesInside(record);
        throw new UnreadableFile(
          `Line ${line} has ${record.length} columns; at most ${MAX_COLUMNS} are read. Is the delimiter right?`,
          line,
        );
      }
      if (record.some((cell) => cell.trim() !== '')) {
        yield { line: info.lines - linesInside(record), cells: record };
      }
    }
  } catch (error) {
    throw error instanceof CsvError ? unreadable(error, lastLine + 1) : error;
  }
}

export const readRows = (path: string, shape: CsvShape): AsyncGenerator<Row> =>
  parseRows(decodeText(path, shape.encoding), shape.delimiter);

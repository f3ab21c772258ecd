import { parseJson } from '../http/parse-json.ts';
import { ProblemError } from '../problem.ts';
import type { JsonLinesShape } from '../schemas.ts';
import { decodeText } from './decode-text.ts';
import type { FileBytes } from './file-bytes.ts';
import { MAX_COLUMNS, MAX_LINE_CHARACTERS } from './import-bounds.ts';
import type { Row } from './read-rows.ts';
import { UnreadableFile } from './unreadable-file.ts';

interface Line {
  readonly line: number;
  readonly text: string;
}

/** The lines of a file that hold anything, one piece of text at a time. */
async function* linesOf(file: FileBytes): AsyncGenerator<Line> {
  let rest = '';
  let line = 0;
  const tooLong = (): UnreadableFile =>
    new UnreadableFile(`Line ${line + 1} is longer than ${MAX_LINE_CHARACTERS} characters.`, line + 1);
  for await (const piece of decodeText(file, 'utf-8')) {
    const lines = (rest + piece).split('\n');
    rest = lines.pop()!;
    for (const text of lines) {
      if (text.length > MAX_LINE_CHARACTERS) throw tooLong();
      line += 1;
      if (text.trim() !== '') yield { line, text };
    }
    if (rest.length > MAX_LINE_CHARACTERS) throw tooLong();
  }
  if (rest.trim() !== '') yield { line: line + 1, text: rest };
}

/** The values of one line by the name of their column: "time", "readings.1", "gauge.id". */
function columnsOf({ line, text }: Line, decimalMark: '.' | ','): ReadonlyMap<string, string> {
  let value: unknown;
  try {
    value = parseJson(text, MAX_COLUMNS);
  } catch (error) {
    if (!(error instanceof ProblemError)) throw error;
    const [problem] = error.problem.errors;
    throw new UnreadableFile(
      `Line ${line} cannot be read as JSON: ${problem?.field ?? ''} ${error.message}`,
      line,
    );
  }
  if (typeof value !== 'object' || value === null)
    throw new UnreadableFile(`Line ${line} is neither an object nor a list; each line must be one.`, line);
  const columns = new Map<string, string>();
  const add = (name: string, inner: unknown): void => {
    if (typeof inner === 'object' && inner !== null) {
      const entries: [string, unknown][] = Array.isArray(inner)
        ? inner.map((item, index) => [String(index + 1), item])
        : Object.entries(inner);
      for (const [key, item] of entries) add(name === '' ? key : `${name}.${key}`, item);
    } else {
      const text = typeof inner === 'number' ? String(inner).replace('.', decimalMark) : String(inner ?? '');
      columns.set(name, text);
    }
  };
  add('', value);
  return columns;
}

/**
 * The rows of a file with one JSON value a line, as those of a CSV file would come: first the names of all columns,
 * in the order in which they appear, then a row for each line. Reads the file twice, because a later line may bring
 * another column.
 *
 * @throws UnreadableFile at the line from which it cannot be read any further.
 */
export async function* readJsonLines(file: FileBytes, { decimalMark }: JsonLinesShape): AsyncGenerator<Row> {
  const names = new Set<string>();
  let unreadable: UnreadableFile | null = null;
  try {
    for await (const line of linesOf(file)) {
      for (const name of columnsOf(line, decimalMark).keys()) names.add(name);
      if (names.size > MAX_COLUMNS)
        throw new UnreadableFile(
          `Up to line ${line.line} there are more than ${MAX_COLUMNS} names.`,
          line.line,
        );
    }
  } catch (error) {
    if (!(error instanceof UnreadableFile)) throw error;
    // The rows before it come first, as in every other file.
    unreadable = error;
  }
  if (names.size > 0) yield { line: 1, cells: [...names] };
  for await (const line of linesOf(file)) {
    if (unreadable?.line === line.line) break;
    const columns = columnsOf(line, decimalMark);
    yield { line: line.line, cells: [...names].map((name) => columns.get(name) ?? '') };
  }
  if (unreadable !== null) throw unreadable;
}

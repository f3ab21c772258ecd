import { useSignal } from '@preact/signals';
import type { CsvShape, FileShape, ImportFile, SheetShape } from '../../api/schemas.ts';
import { call } from '../client.ts';
import { formatCount } from '../format.ts';
import { Field } from '../ui/Field.tsx';
import { ProblemNotice } from '../ui/ProblemNotice.tsx';

const delimiters: Readonly<Record<CsvShape['delimiter'], string>> = {
  ',': 'comma  ,',
  ';': 'semicolon  ;',
  '\t': 'tab',
  '|': 'bar  |',
  ' ': 'blanks',
};
const encodings: Readonly<Record<CsvShape['encoding'], string>> = {
  'utf-8': 'UTF-8',
  'utf-16le': 'UTF-16',
  'windows-1252': 'Windows-1252 (Western)',
};
const SHOWN_ROWS = 5;

const isCsv = (shape: FileShape): shape is CsvShape => !('format' in shape);
const isSheet = (shape: FileShape): shape is SheetShape => 'format' in shape && shape.format === 'workbook';

/** Step 2: are the columns cut in the right places? */
export function ShapeStep({
  file,
  onFile,
  locked,
}: {
  file: ImportFile;
  onFile: (file: ImportFile) => void;
  locked: boolean;
}) {
  const problem = useSignal<Error | null>(null);
  /** What was asked for last; differs from the file's while it is read or where it was refused. */
  const asked = useSignal<FileShape>(file.shape);
  const shape = problem.value === null ? file.shape : asked.value;

  const reshape = async (part: object): Promise<void> => {
    const next = { ...shape, ...part } as FileShape;
    asked.value = next;
    try {
      const answer = await call('POST /api/imports/{id}/shape', { params: { id: file.id }, body: next });
      if (asked.value !== next) return;
      problem.value = null;
      onFile(answer);
    } catch (error) {
      if (asked.value === next) problem.value = error as Error;
    }
  };

  return (
    <section class="panel stack" aria-labelledby="shape-title">
      <h2 id="shape-title">2. Its columns</h2>
      <p>These are the first rows. Change how the file is read if they are not what you expect.</p>
      <div class="row">
        {isSheet(shape) && (
          <Field label="Sheet">
            <select
              value={shape.sheet}
              disabled={locked}
              onChange={(event) => reshape({ sheet: event.currentTarget.value })}
            >
              {(file.sheets ?? []).map((name) => (
                <option key={name} value={name}>
                  {name}
                </option>
              ))}
            </select>
          </Field>
        )}
        {isCsv(shape) && (
          <Field label="Between columns">
            <select
              value={shape.delimiter}
              disabled={locked}
              onChange={(event) => reshape({ delimiter: event.currentTarget.value as CsvShape['delimiter'] })}
            >
              {Object.entries(delimiters).map(([delimiter, name]) => (
                <option key={delimiter} value={delimiter}>
                  {name}
                </option>
              ))}
            </select>
          </Field>
        )}
        <Field label="Decimal mark of the file">
          <select
            value={shape.decimalMark}
            disabled={locked}
            onChange={(event) =>
              reshape({ decimalMark: event.currentTarget.value as CsvShape['decimalMark'] })
            }
          >
            <option value=".">point 1.5</option>
            <option value=",">comma 1,5</option>
          </select>
        </Field>
        {isCsv(shape) && (
          <Field label="Encoding">
            <select
              value={shape.encoding}
              disabled={locked}
              onChange={(event) => reshape({ encoding: event.currentTarget.value as CsvShape['encoding'] })}
            >
              {Object.entries(encodings).map(([encoding, name]) => (
                <option key={encoding} value={encoding}>
                  {name}
                </option>
              ))}
            </select>
          </Field>
        )}
        {(isCsv(shape) || isSheet(shape)) && (
          <label class="check">
            <input
              type="checkbox"
              checked={shape.headerRow}
              disabled={locked}
              onChange={(event) => reshape({ headerRow: event.currentTarget.checked })}
            />
            First row names the columns
          </label>
        )}
      </div>
      <ProblemNotice error={problem.value} shownFields={['file']} />
      {/* biome-ignore lint/a11y/noNoninteractiveTabindex: a wide table is scrolled by keyboard too */}
      <section class="scroll" aria-label="First rows of the file" tabIndex={0}>
        <table class="file-table">
          <thead>
            <tr>
              {file.columns.map((name, column) => (
                <th key={column} scope="col">
                  {name}
                </th>
              ))}
            </tr>
          </thead>
          <tbody>
            {file.firstRows.slice(0, SHOWN_ROWS).map((row, line) => (
              <tr key={line}>
                {row.map((cell, column) => (
                  <td key={column}>{cell}</td>
                ))}
              </tr>
            ))}
          </tbody>
        </table>
      </section>
      {file.rows > SHOWN_ROWS && <p>… and {formatCount(file.rows - SHOWN_ROWS)} more rows.</p>}
    </section>
  );
}

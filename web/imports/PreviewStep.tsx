import type { Characteristic, ImportPreview, ImportProgress, ImportWarning } from '../../api/schemas.ts';
import { Refusal } from '../client.ts';
import { formatCount, formatDateTime, formatNumber } from '../format.ts';
import { utcOffsetMinutes } from '../plant.ts';
import { Notice } from '../ui/Notice.tsx';
import { ProblemNotice } from '../ui/ProblemNotice.tsx';
import { many, storeButton } from './preview-words.ts';

const warningNames: Readonly<Record<ImportWarning['kind'], string>> = {
  questioned: 'Unlikely value',
  'outside-specification': 'Outside specification',
  'same-time': 'Same time',
  'fewer-readings': 'Fewer readings',
};

/** A number of a file as the page writes it, with every digit that the file gives. */
function readAs(value: number | null, decimals: number): string {
  if (value === null) return 'missing';
  const given = String(value).split('.')[1]?.length ?? 0;
  return String(value).includes('e') ? String(value) : formatNumber(value, Math.max(decimals, given));
}

/** All that the server says stands beside a field already. */
const isShownAbove = (refusal: Error | null, shownFields: readonly string[]): boolean =>
  refusal instanceof Refusal &&
  refusal.problem.errors.length > 0 &&
  refusal.problem.errors.every(({ field }) => shownFields.includes(field));

/** Step 4: this is what would be stored, and this is in the way. Then store it, or nothing. */
export function PreviewStep({
  preview,
  reading,
  waitingFor,
  refusal,
  shownFields,
  characteristic,
  progress,
  reviewAddress,
  onImport,
  onTryAgain,
  onAnother,
}: {
  preview: ImportPreview | null;
  /** The file is being read. */
  reading: boolean;
  /** Choices of step 3 are missing. */
  waitingFor: readonly string[];
  refusal: Error | null;
  shownFields: readonly string[];
  characteristic: Characteristic | undefined;
  progress: ImportProgress | null;
  reviewAddress: string;
  onImport: () => void;
  /** null: nothing is to be had by trying again. */
  onTryAgain: (() => void) | null;
  onAnother: () => void;
}) {
  const running = progress?.state === 'running';
  const ready = preview !== null && preview.badRowCount === 0 && preview.samples - preview.alreadyStored > 0;
  return (
    <section class="panel stack" aria-labelledby="preview-title" aria-busy={reading}>
      <h2 id="preview-title">4. Check and store</h2>
      {progress?.state !== 'done' && waitingFor.length > 0 && (
        <p role="status">Still to choose in step 3: {waitingFor.join(', ')}.</p>
      )}
      {reading && <p role="status">Reading the file as you say…</p>}
      {isShownAbove(refusal, shownFields) ? (
        <p class="wrong">
          <span aria-hidden="true">▲ </span>A choice of step 3 does not fit; it says there what to do.
        </p>
      ) : (
        <ProblemNotice error={refusal} shownFields={[...shownFields, 'file']} />
      )}
      {onTryAgain !== null && (
        <div class="row">
          <button type="button" onClick={onTryAgain}>
            Try again
          </button>
          <span>This page also tries again by itself once the server is back.</span>
        </div>
      )}
      {preview !== null && progress?.state !== 'done' && (
        <>
          <Summary preview={preview} />
          {preview.badRowCount > 0 && <BadRows preview={preview} />}
          {preview.warningCount > 0 && <Warnings preview={preview} />}
          {preview.firstSamples.length > 0 && (
            <FirstSamples preview={preview} characteristic={characteristic} />
          )}
        </>
      )}
      {progress !== null && progress.state === 'failed' && (
        <Notice kind="call" title="Not stored" live="assertive">
          <p>{progress.problem}</p>
        </Notice>
      )}
      {running && (
        <div class="field">
          <label for="import-progress">
            Storing {formatCount(progress.done)} of {many(progress.total, 'sample', 'samples')}
          </label>
          <progress id="import-progress" max={Math.max(1, progress.total)} value={progress.done} />
          <span class="hint">All of them or none: if this breaks off, nothing of the file is stored.</span>
        </div>
      )}
      {progress?.state === 'done' ? (
        <Notice kind="fine" title={`${many(progress.total, 'sample is', 'samples are')} stored`}>
          <p>Each was judged like a sample that is entered at the station.</p>
          <div class="row">
            <a class="button main" href={reviewAddress}>
              Look at them in Review
            </a>
            <button type="button" onClick={onAnother}>
              Import another file
            </button>
          </div>
        </Notice>
      ) : (
        <div class="row">
          <button type="button" class="main" disabled={!ready || running || reading} onClick={onImport}>
            {ready ? storeButton(preview) : 'Store the samples'}
          </button>
        </div>
      )}
    </section>
  );
}

function Summary({ preview }: { preview: ImportPreview }) {
  const { samples, readings, firstTakenAt, lastTakenAt, alreadyStored, badRowCount, warningCount } = preview;
  const offset = utcOffsetMinutes.value;
  return (
    <div role="status" class="stack">
      <p>
        <strong>{many(samples, 'sample', 'samples')}</strong>
        {readings > 0 && ` with ${many(readings, 'reading', 'readings')}`}
        {firstTakenAt !== null &&
          lastTakenAt !== null &&
          `, from ${formatDateTime(firstTakenAt, offset)} to ${formatDateTime(lastTakenAt, offset)} plant time`}
        .{' '}
        {alreadyStored > 0 &&
          (alreadyStored === samples
            ? 'All of them are stored already; there is nothing to do.'
            : `${formatCount(alreadyStored)} of them are stored already and stay as they are.`)}
      </p>
      {badRowCount === 0 ? (
        <p>
          <span aria-hidden="true">✓ </span>Every row can be read.
        </p>
      ) : (
        <p class="wrong">
          <span aria-hidden="true">▲ </span>
          {many(badRowCount, 'problem', 'problems')} in the file. Mend the file, or the choices above; nothing
          is stored until every row can be read.
        </p>
      )}
      {warningCount > 0 && (
        <p class="look">
          <span aria-hidden="true">? </span>
          {many(warningCount, 'warning', 'warnings')} in{' '}
          {many(preview.samplesWithWarnings, 'sample', 'samples')}. Look at{' '}
          {warningCount === 1 ? 'it' : 'them'} before you store: what is right can be stored as it stands.
        </p>
      )}
    </div>
  );
}

const BadRows = ({ preview }: { preview: ImportPreview }) => (
  <FileLines
    label="Problems in the file"
    headings={['Column', 'What stands there', 'Problem']}
    rows={preview.badRows.map(({ line, column, text, problem }) => ({
      line,
      cells: [column ?? 'whole row', text === '' ? '(empty)' : text, problem],
    }))}
    count={preview.badRowCount}
  />
);

const Warnings = ({ preview }: { preview: ImportPreview }) => (
  <FileLines
    label="Warnings about the file"
    headings={['Warning', 'What stands there', 'Look at']}
    rows={preview.warnings.map(({ line, kind, text, sentence }) => ({
      line,
      cells: [warningNames[kind], text, sentence],
    }))}
    count={preview.warningCount}
  />
);

/** Lines of the file with what is to be said of each; the server sends the first of many. */
const FileLines = ({
  label,
  headings,
  rows,
  count,
}: {
  label: string;
  headings: readonly string[];
  rows: readonly { line: number; cells: readonly string[] }[];
  /** All of them. */
  count: number;
}) => (
  <div>
    {/* biome-ignore lint/a11y/noNoninteractiveTabindex: a long table is scrolled by keyboard too */}
    <section class="scroll tall" aria-label={label} tabIndex={0}>
      <table>
        <thead>
          <tr>
            <th scope="col" class="number">
              Line
            </th>
            {headings.map((heading) => (
              <th key={heading} scope="col">
                {heading}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {rows.map(({ line, cells }, index) => (
            <tr key={index}>
              <th scope="row" class="number">
                {line}
              </th>
              {cells.map((cell, place) => (
                <td key={headings[place]}>{cell}</td>
              ))}
            </tr>
          ))}
        </tbody>
      </table>
    </section>
    {count > rows.length && <p>… and {formatCount(count - rows.length)} more.</p>}
  </div>
);

function FirstSamples({
  preview,
  characteristic,
}: {
  preview: ImportPreview;
  characteristic: Characteristic | undefined;
}) {
  const counted = characteristic?.kind === 'count';
  const decimals = characteristic?.decimals ?? 0;
  const longest = Math.max(...preview.firstSamples.map(({ readings }) => readings.length));
  const names = counted
    ? ['inspected', 'nonconforming']
    : Array.from({ length: longest }, (_, place) => `${place + 1}`);
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: a wide table is scrolled by keyboard too
    <section class="scroll" aria-label="First samples as they are read" tabIndex={0}>
      <table>
        <caption>
          {preview.badRowCount === 0
            ? 'The first samples, as they would be stored'
            : 'The first samples; what cannot be read is missing'}
          {characteristic !== undefined &&
            !counted &&
            characteristic.unit !== '1' &&
            ` (${characteristic.unit})`}
        </caption>
        <thead>
          <tr>
            <th scope="col">Taken (plant time)</th>
            {names.map((name) => (
              <th key={name} scope="col" class="number">
                {name}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {preview.firstSamples.map(({ takenAt, readings }, index) => (
            <tr key={index}>
              <th scope="row">{formatDateTime(takenAt, utcOffsetMinutes.value)}</th>
              {names.map((name, place) => (
                <td key={name} class="number">
                  {place < readings.length ? readAs(readings[place]!, decimals) : ''}
                </td>
              ))}
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  );
}

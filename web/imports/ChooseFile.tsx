import { useSignal } from '@preact/signals';
import { useId } from 'preact/hooks';
import type { ImportFile } from '../../api/schemas.ts';
import { formatCount } from '../format.ts';
import { ProblemNotice } from '../ui/ProblemNotice.tsx';
import { uploadFile } from './upload.ts';

/** Step 1: choose a file by button or drop it. */
export function ChooseFile({
  file,
  onFile,
  locked,
}: {
  file: ImportFile | null;
  onFile: (file: ImportFile | null) => void;
  /** An import runs: no other file now. */
  locked: boolean;
}) {
  const id = useId();
  const busy = useSignal(false);
  const over = useSignal(false);
  const problem = useSignal<Error | null>(null);

  const take = async (chosen: File | undefined): Promise<void> => {
    if (chosen === undefined || busy.value || locked) return;
    busy.value = true;
    problem.value = null;
    onFile(null);
    try {
      onFile(await uploadFile(chosen));
    } catch (error) {
      problem.value = error as Error;
    } finally {
      busy.value = false;
    }
  };

  return (
    <section class="panel stack" aria-labelledby={`${id}-title`}>
      <h2 id={`${id}-title`}>1. The file</h2>
      {/* Dropping is a short cut for a mouse; the field inside does the same for everybody. */}
      {/* biome-ignore lint/a11y/noStaticElementInteractions: see above */}
      <div
        class={`drop ${over.value ? 'over' : ''}`}
        onDragOver={(event) => {
          event.preventDefault();
          over.value = true;
        }}
        onDragLeave={() => {
          over.value = false;
        }}
        onDrop={(event) => {
          event.preventDefault();
          over.value = false;
          take(event.dataTransfer?.files[0]);
        }}
      >
        <label for={`${id}-file`}>Choose a file, or drop it here</label>
        <input
          id={`${id}-file`}
          type="file"
          accept=".csv,.txt,.tsv,.dat,.xlsx,.jsonl,.ndjson,text/csv,text/plain"
          aria-describedby={`${id}-hint`}
          disabled={busy.value || locked}
          onClick={(event) => {
            // So that choosing the same file again, mended, is a change.
            event.currentTarget.value = '';
          }}
          onChange={(event) => take(event.currentTarget.files?.[0])}
        />
        <span class="hint" id={`${id}-hint`}>
          CSV, a workbook (.xlsx) or JSON lines, up to 20 MiB and 100 000 samples. In CSV, columns may stand
          apart by commas, semicolons, tabs, bars or blanks. Nothing is stored before you say so in step 4.
        </span>
      </div>
      <div role="status">
        {busy.value && 'Reading the file…'}
        {file !== null && (
          <>
            <strong>{file.fileName}</strong>: {formatCount(file.rows)} rows,{' '}
            {formatCount(file.columns.length)} columns.
          </>
        )}
      </div>
      <ProblemNotice error={problem.value} shownFields={['file']} />
    </section>
  );
}

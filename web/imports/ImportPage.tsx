import { useSignal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import type { ImportFile, ImportMapping, ImportPreview, ImportProgress } from '../../api/schemas.ts';
import { call, Unreachable } from '../client.ts';
import { onChange, serverNow } from '../live.ts';
import { whyNot } from '../permissions.ts';
import { characteristicsById, plantModel, streamsById, utcOffsetMinutes } from '../plant.ts';
import { personIsNamed } from '../session.ts';
import { Notice } from '../ui/Notice.tsx';
import { ChooseFile } from './ChooseFile.tsx';
import { ExportForm } from './ExportForm.tsx';
import { MappingStep } from './MappingStep.tsx';
import { type DraftProblems, type MappingDraft, mappingFrom, startDraft } from './mapping-draft.ts';
import { PreviewStep } from './PreviewStep.tsx';
import { ShapeStep } from './ShapeStep.tsx';
import './imports.css';

/** After the last change of a choice, so that typing does not read the file at every key. */
const SETTLE = 350;
const LOOK_AGAIN = 1500;

const names: Partial<Record<keyof MappingDraft, string>> = {
  streamId: 'stream',
  modelId: 'part model',
  unit: 'unit',
  valueColumns: 'columns with readings',
  valueColumn: 'column with the reading',
  sampleColumn: 'column that tells samples apart',
  inspectedColumn: 'column with parts inspected',
  nonconformingColumn: 'column with parts nonconforming',
  timeColumn: 'column with the time',
  first: 'time of the first sample',
  stepMinutes: 'minutes between samples',
};
/** Refusals that are shown beside a field of step 3. */
const shownFields = [
  'streamId',
  'modelId',
  'unit',
  'layout.form',
  'layout.valueColumns',
  'layout.valueColumn',
  'layout.sampleColumn',
  'layout.inspectedColumn',
  'layout.nonconformingColumn',
  'time.column',
  'time.first',
  'time.stepMinutes',
  'lotColumn',
];

/** Measurements in from a CSV file, and out again. */
export default function ImportPage() {
  const plant = plantModel.value;
  const file = useSignal<ImportFile | null>(null);
  const draft = useSignal<MappingDraft | null>(null);
  const preview = useSignal<ImportPreview | null>(null);
  const refusal = useSignal<Error | null>(null);
  const reading = useSignal(false);
  const progress = useSignal<ImportProgress | null>(null);
  /** Counts tries, so that the same choices can be read once more. */
  const tries = useSignal(0);

  const offset = utcOffsetMinutes.value;
  const chosen =
    file.value === null || draft.value === null ? null : mappingFrom(draft.value, file.value.shape, offset);
  const mapping: ImportMapping | null = chosen !== null && 'mapping' in chosen ? chosen.mapping : null;
  const problems: DraftProblems = chosen !== null && 'problems' in chosen ? chosen.problems : {};
  const fileId = file.value?.id ?? null;
  const settled = progress.value?.state === 'running' || progress.value?.state === 'done';
  const asked = mapping === null || settled ? null : JSON.stringify(mapping);

  useEffect(() => {
    preview.value = null;
    refusal.value = null;
    reading.value = asked !== null;
    if (asked === null || fileId === null) return;
    let current = true;
    const read = async (): Promise<void> => {
      try {
        const answer = await call('POST /api/imports/{id}/preview', {
          params: { id: fileId },
          body: JSON.parse(asked),
        });
        if (current) preview.value = answer;
      } catch (error) {
        if (current) refusal.value = error as Error;
      }
      if (current) reading.value = false;
    };
    const waiting = setTimeout(read, SETTLE);
    return () => {
      current = false;
      clearTimeout(waiting);
    };
  }, [asked, fileId, tries.value]);

  const serverIsAway = refusal.value instanceof Unreachable;
  const tryAgain = (): void => {
    tries.value += 1;
  };
  useEffect(() => {
    if (!serverIsAway) return;
    return onChange((change) => {
      if (change === null) tryAgain();
    });
  }, [serverIsAway]);

  const running = progress.value?.state === 'running';
  useEffect(() => {
    if (!running || fileId === null) return;
    const look = async (): Promise<void> => {
      try {
        progress.value = await call('GET /api/imports/{id}', { params: { id: fileId } });
      } catch {
        // The connection is lost; the masthead says so, and the next look may reach the server again.
      }
    };
    const leave = onChange((change) => {
      if (change === null || (change.kind === 'import' && change.importId === fileId)) look();
    });
    const looking = setInterval(look, LOOK_AGAIN);
    return () => {
      leave();
      clearInterval(looking);
    };
  }, [running, fileId]);

  if (plant === null) return null;
  if (plant.streams.length === 0 || plant.models.length === 0) {
    return (
      <div class="stack imports">
        <h1>Import</h1>
        <Notice kind="quiet" title="There is nothing to import into yet">
          <p>
            Samples belong to a stream and a part model. Add them in <a href="/setup">Setup</a> first.
          </p>
        </Notice>
      </div>
    );
  }

  const takeFile = (next: ImportFile | null): void => {
    progress.value = null;
    // The choices about the plant stay; those about columns belong to the file.
    const before = draft.value;
    const sameColumns =
      file.value?.id === next?.id && file.value?.columns.join('\n') === next?.columns.join('\n');
    file.value = next;
    if (next === null || (sameColumns && before !== null)) return;
    const fresh = startDraft(next, serverNow(), offset);
    draft.value =
      before === null || before.streamId === ''
        ? fresh
        : {
            ...fresh,
            streamId: before.streamId,
            modelId: before.modelId,
            unit: before.unit,
            form: before.form === 'count' ? 'count' : fresh.form,
          };
  };
  const store = async (): Promise<void> => {
    if (fileId === null || mapping === null || !personIsNamed()) return;
    try {
      refusal.value = null;
      progress.value = await call('POST /api/imports/{id}/commit', { params: { id: fileId }, body: mapping });
    } catch (error) {
      refusal.value = error as Error;
    }
  };
  const characteristic = characteristicsById.value.get(
    streamsById.value.get(draft.value?.streamId ?? '')?.characteristicId ?? '',
  );
  const mayNotImport = whyNot('import samples');
  const address = new URLSearchParams({
    stream: draft.value?.streamId ?? '',
    model: draft.value?.modelId ?? '',
  });

  return (
    <div class="stack imports">
      <h1>Import</h1>
      {mayNotImport === null ? (
        <ChooseFile file={file.value} onFile={takeFile} locked={running} />
      ) : (
        <p>{mayNotImport}</p>
      )}
      {file.value !== null && draft.value !== null && (
        <>
          <ShapeStep key={file.value.id} file={file.value} onFile={takeFile} locked={settled} />
          <MappingStep
            plant={plant}
            file={file.value}
            draft={draft.value}
            problems={draft.value.streamId === '' ? {} : problems}
            refusal={refusal.value}
            locked={settled}
            change={(next) => {
              progress.value = null;
              draft.value = next;
            }}
          />
          <PreviewStep
            preview={preview.value}
            reading={reading.value}
            waitingFor={Object.keys(problems).map((field) => names[field as keyof MappingDraft] ?? field)}
            refusal={refusal.value}
            shownFields={shownFields}
            characteristic={characteristic}
            progress={progress.value}
            reviewAddress={`/review?${address}`}
            onImport={store}
            onTryAgain={serverIsAway ? tryAgain : null}
            onAnother={() => {
              takeFile(null);
              scrollTo(0, 0);
            }}
          />
        </>
      )}
      <ExportForm plant={plant} />
    </div>
  );
}

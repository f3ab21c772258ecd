/** What a person has chosen so far about a file, and the mapping that it makes. */
import type {
  Characteristic,
  DateFormat,
  ImportFile,
  ImportMapping,
  SamplingPlan,
  Unit,
} from '../../api/schemas.ts';
import { parseTyped } from '../format.ts';
import { fromLocalField, toLocalField } from '../review/period.ts';
import { guessColumns } from './column-guess.ts';

export type Form = ImportMapping['layout']['form'];

export interface MappingDraft {
  readonly streamId: string;
  readonly modelId: string;
  readonly unit: Unit | '';
  readonly form: Form;
  readonly valueColumns: readonly number[];
  readonly valueColumn: number | null;
  readonly sampleColumn: number | null;
  readonly inspectedColumn: number | null;
  readonly nonconformingColumn: number | null;
  readonly timeFrom: 'column' | 'sequence';
  readonly timeColumn: number | null;
  readonly timeFormat: DateFormat;
  /** Plant-local, as a date field holds it. */
  readonly first: string;
  readonly stepMinutes: string;
  readonly lotColumn: number | null;
}

/** What is missing or wrong, by field. */
export type DraftProblems = Partial<Record<keyof MappingDraft, string>>;

const HOUR = 3_600_000;

export function startDraft(file: ImportFile, now: number, utcOffsetMinutes: number): MappingDraft {
  const guess = guessColumns(file);
  const stepMinutes = 60;
  // So early that even one sample a row would not reach into the future.
  const first = Math.floor((now - file.rows * stepMinutes * 60_000) / HOUR) * HOUR;
  return {
    streamId: '',
    modelId: '',
    unit: '',
    form: guess.form,
    valueColumns: guess.valueColumns,
    valueColumn: guess.valueColumns[0] ?? null,
    sampleColumn: guess.sampleColumn,
    inspectedColumn: guess.inspectedColumn,
    nonconformingColumn: guess.nonconformingColumn,
    timeFrom: guess.timeColumn === null ? 'sequence' : 'column',
    timeColumn: guess.timeColumn,
    timeFormat: guess.timeFormat,
    first: toLocalField(Math.max(first, Date.UTC(2000, 0, 2)), utcOffsetMinutes),
    stepMinutes: String(stepMinutes),
    lotColumn: guess.lotColumn,
  };
}

/** A stream brings its unit, the form of its kind, and, where it has only one, its part model. */
export function withStream(
  draft: MappingDraft,
  stream: { readonly id: string; readonly modelIds: readonly string[] },
  characteristic: Characteristic,
  plan: SamplingPlan | undefined,
): MappingDraft {
  const { modelIds } = stream;
  const measuredForm = draft.form === 'count' ? 'wide' : draft.form;
  return {
    ...draft,
    streamId: stream.id,
    modelId: modelIds.length === 1 ? modelIds[0]! : modelIds.includes(draft.modelId) ? draft.modelId : '',
    unit: characteristic.unit,
    form: characteristic.kind === 'count' ? 'count' : plan?.sampleSize === 1 ? 'wide' : measuredForm,
  };
}

/** The mapping, or what is still missing. */
export function mappingFrom(
  draft: MappingDraft,
  shape: ImportMapping['shape'],
  utcOffsetMinutes: number,
): { readonly mapping: ImportMapping } | { readonly problems: DraftProblems } {
  const problems: DraftProblems = {};
  const need = (field: keyof MappingDraft, message: string): void => {
    problems[field] = message;
  };
  const column = (field: keyof MappingDraft, value: number | null): number => {
    if (value === null) need(field, 'Choose a column.');
    return value ?? 0;
  };

  if (draft.streamId === '') need('streamId', 'Choose the stream that was measured.');
  if (draft.modelId === '') need('modelId', 'Choose the part model.');
  if (draft.unit === '') need('unit', 'Choose the unit of the file.');
  if (draft.form === 'wide' && draft.valueColumns.length === 0)
    need('valueColumns', 'Tick at least one column.');

  const layout: ImportMapping['layout'] =
    draft.form === 'wide'
      ? { form: 'wide', valueColumns: [...draft.valueColumns] }
      : draft.form === 'long'
        ? {
            form: 'long',
            valueColumn: column('valueColumn', draft.valueColumn),
            sampleColumn: column('sampleColumn', draft.sampleColumn),
          }
        : {
            form: 'count',
            inspectedColumn: column('inspectedColumn', draft.inspectedColumn),
            nonconformingColumn: column('nonconformingColumn', draft.nonconformingColumn),
          };

  let time: ImportMapping['time'];
  if (draft.timeFrom === 'column') {
    time = { from: 'column', column: column('timeColumn', draft.timeColumn), format: draft.timeFormat };
  } else {
    const first = fromLocalField(draft.first, utcOffsetMinutes);
    const stepMinutes = parseTyped(draft.stepMinutes);
    if (first === null) need('first', 'Give the time of the first sample.');
    if (stepMinutes === null || stepMinutes <= 0 || stepMinutes > 100_000) {
      need('stepMinutes', 'Give a number of minutes, more than 0 and at most 100 000.');
    }
    time = { from: 'sequence', first: first ?? '', stepMinutes: stepMinutes ?? 1 };
  }
  if (Object.keys(problems).length > 0) return { problems };
  const { streamId, modelId, lotColumn } = draft;
  return { mapping: { shape, streamId, modelId, unit: draft.unit as Unit, layout, time, lotColumn } };
}

import type { ComponentChildren } from 'preact';
import type { DateFormat, ImportFile, PlantModel, Unit } from '../../api/schemas.ts';
import { characteristicsById, plansByStreamId, streamsById } from '../plant.ts';
import { modelsOfStream } from '../review/models-of-stream.ts';
import { Field } from '../ui/Field.tsx';
import { wrongAt } from '../ui/ProblemNotice.tsx';
import { ColumnSelect } from './ColumnSelect.tsx';
import type { DraftProblems, Form, MappingDraft } from './mapping-draft.ts';
import { withStream } from './mapping-draft.ts';
import { StreamFields } from './StreamFields.tsx';

const units: readonly Unit[] = ['mm', 'in', 'µm', '°', 'kN', 'g', 's', '1'];

const forms: readonly { form: Form; name: string; says: string; picture: readonly (readonly string[])[] }[] =
  [
    {
      form: 'wide',
      name: 'One row a sample',
      says: 'each reading in a column of its own',
      picture: [
        ['time', '1', '2', '3'],
        ['06:30', '2.31', '2.30', '2.29'],
        ['07:30', '2.32', '2.30', '2.31'],
      ],
    },
    {
      form: 'long',
      name: 'One row a reading',
      says: 'a column says which sample it belongs to',
      picture: [
        ['sample', 'reading'],
        ['1', '2.31'],
        ['1', '2.30'],
      ],
    },
    {
      form: 'count',
      name: 'Counted parts',
      says: 'one row a sample: how many were inspected, how many nonconforming',
      picture: [
        ['time', 'inspected', 'nonconforming'],
        ['06:30', '310', '1'],
        ['07:30', '310', '0'],
      ],
    },
  ];

const timeFormats: readonly { format: DateFormat; example: string }[] = [
  { format: 'iso', example: '2025-09-30T06:30+02:00' },
  { format: 'yyyy-MM-dd HH:mm', example: '2025-09-30 06:30' },
  { format: 'dd.MM.yyyy HH:mm', example: '30.09.2025 06:30' },
  { format: 'dd/MM/yyyy HH:mm', example: '30/09/2025 06:30 (day first)' },
  { format: 'MM/dd/yyyy HH:mm', example: '09/30/2025 06:30 (month first)' },
  { format: 'serial', example: '45930.2708 (days since the end of 1899)' },
];

/** Step 3: what do the columns mean? */
export function MappingStep({
  plant,
  file,
  draft,
  problems,
  refusal,
  locked,
  change,
}: {
  plant: PlantModel;
  file: ImportFile;
  draft: MappingDraft;
  problems: DraftProblems;
  /** What the server says against the mapping. */
  refusal: Error | null;
  locked: boolean;
  change: (draft: MappingDraft) => void;
}) {
  const set = (part: Partial<MappingDraft>): void => change({ ...draft, ...part });
  const { columns } = file;
  const wrong = (field: keyof MappingDraft, serverField: string = field): string | null =>
    problems[field] ?? wrongAt(refusal, serverField);
  const characteristic = characteristicsById.value.get(
    streamsById.value.get(draft.streamId)?.characteristicId ?? '',
  );

  const chooseStream = (streamId: string): void => {
    const stream = streamsById.value.get(streamId);
    const measured = characteristicsById.value.get(stream?.characteristicId ?? '');
    if (stream === undefined || measured === undefined) return;
    const modelIds = modelsOfStream(plant, streamId).map(({ id }) => id);
    change(withStream(draft, { id: streamId, modelIds }, measured, plansByStreamId.value.get(streamId)));
  };
  const oneColumn = (
    label: string,
    field: 'valueColumn' | 'sampleColumn' | 'inspectedColumn' | 'nonconformingColumn' | 'timeColumn',
    serverField?: string,
  ) => (
    <Field label={label} wrong={wrong(field, serverField)}>
      <ColumnSelect columns={columns} value={draft[field]} onColumn={(column) => set({ [field]: column })} />
    </Field>
  );

  return (
    <section class="panel" aria-labelledby="mapping-title">
      <h2 id="mapping-title">3. What it means</h2>
      <fieldset class="plain stack" disabled={locked}>
        <legend class="visually-hidden">What the columns of the file mean</legend>
        <div class="row">
          <StreamFields
            plant={plant}
            streamId={draft.streamId}
            modelId={draft.modelId}
            onStream={chooseStream}
            onModel={(modelId) => set({ modelId })}
            wrongStream={wrong('streamId')}
            wrongModel={wrong('modelId')}
          />
          <Field label="Unit of the file" wrong={wrong('unit')}>
            <select
              value={draft.unit}
              disabled={draft.streamId === ''}
              onChange={(event) => set({ unit: event.currentTarget.value as Unit })}
            >
              <option value="" disabled>
                Choose…
              </option>
              {units.map((unit) => (
                <option key={unit} value={unit}>
                  {unit === '1' ? 'none (a number)' : unit}
                </option>
              ))}
            </select>
          </Field>
        </div>

        <fieldset>
          <legend>How are the samples written?</legend>
          <div class="forms">
            {forms.map(({ form, name, says, picture }) => (
              <label key={form} class={`form-choice ${draft.form === form ? 'chosen' : ''}`}>
                <input
                  type="radio"
                  name="form"
                  value={form}
                  checked={draft.form === form}
                  disabled={
                    characteristic !== undefined && (characteristic.kind === 'count') !== (form === 'count')
                  }
                  onChange={() => set({ form })}
                />
                <span>
                  <strong>{name}</strong>: {says}
                </span>
                <Picture rows={picture} />
              </label>
            ))}
          </div>
          {wrongAt(refusal, 'layout.form') !== null && <Wrong>{wrongAt(refusal, 'layout.form')}</Wrong>}
        </fieldset>

        {draft.form === 'wide' && (
          <fieldset>
            <legend>Columns with readings</legend>
            <div class="row ticks">
              {columns.map((name, column) => (
                <label key={column} class="check">
                  <input
                    type="checkbox"
                    checked={draft.valueColumns.includes(column)}
                    onChange={(event) => {
                      const others = draft.valueColumns.filter((other) => other !== column);
                      const ticked = event.currentTarget.checked ? [...others, column] : others;
                      set({ valueColumns: ticked.sort((a, b) => a - b) });
                    }}
                  />
                  {name}
                </label>
              ))}
            </div>
            {wrong('valueColumns', 'layout.valueColumns') !== null && (
              <Wrong>{wrong('valueColumns', 'layout.valueColumns')}</Wrong>
            )}
          </fieldset>
        )}
        {draft.form === 'long' && (
          <div class="row">
            {oneColumn('Column with the reading', 'valueColumn', 'layout.valueColumn')}
            {oneColumn('Column that tells samples apart', 'sampleColumn', 'layout.sampleColumn')}
          </div>
        )}
        {draft.form === 'count' && (
          <div class="row">
            {oneColumn('Column with parts inspected', 'inspectedColumn', 'layout.inspectedColumn')}
            {oneColumn(
              'Column with parts nonconforming',
              'nonconformingColumn',
              'layout.nonconformingColumn',
            )}
          </div>
        )}

        <fieldset>
          <legend>When were the samples taken?</legend>
          <div class="row">
            <label class="check">
              <input
                type="radio"
                name="time-from"
                checked={draft.timeFrom === 'column'}
                onChange={() => set({ timeFrom: 'column' })}
              />
              A column says it
            </label>
            <label class="check">
              <input
                type="radio"
                name="time-from"
                checked={draft.timeFrom === 'sequence'}
                onChange={() => set({ timeFrom: 'sequence' })}
              />
              The file has no times: count on from a first one
            </label>
          </div>
          {draft.timeFrom === 'column' ? (
            <div class="row">
              {oneColumn('Column with the time', 'timeColumn', 'time.column')}
              <Field label="Written like" hint="Times without a distance from UTC are plant time.">
                <select
                  value={draft.timeFormat}
                  onChange={(event) => set({ timeFormat: event.currentTarget.value as DateFormat })}
                >
                  {timeFormats.map(({ format, example }) => (
                    <option key={format} value={format}>
                      {example}
                    </option>
                  ))}
                </select>
              </Field>
            </div>
          ) : (
            <div class="row">
              <Field label="First sample (plant time)" wrong={wrong('first', 'time.first')}>
                <input
                  type="datetime-local"
                  value={draft.first}
                  onInput={(event) => set({ first: event.currentTarget.value })}
                />
              </Field>
              <Field
                label="Minutes from one sample to the next"
                wrong={wrong('stepMinutes', 'time.stepMinutes')}
              >
                <input
                  inputMode="decimal"
                  autocomplete="off"
                  value={draft.stepMinutes}
                  onInput={(event) => set({ stepMinutes: event.currentTarget.value })}
                />
              </Field>
            </div>
          )}
        </fieldset>

        <div class="row">
          <Field label="Column with the lot" wrong={wrong('lotColumn')}>
            <ColumnSelect
              columns={columns}
              value={draft.lotColumn}
              none="none"
              onColumn={(lotColumn) => set({ lotColumn })}
            />
          </Field>
        </div>
      </fieldset>
    </section>
  );
}

const Wrong = ({ children }: { children: ComponentChildren }) => (
  <p class="wrong" role="alert">
    {children}
  </p>
);

/** A small table as a picture; its meaning stands in words beside it. */
const Picture = ({ rows }: { rows: readonly (readonly string[])[] }) => (
  <span class="picture" aria-hidden="true">
    {rows.map((row) => (
      <span key={row.join()}>
        {row.map((cell) => (
          <span key={cell}>{cell}</span>
        ))}
      </span>
    ))}
  </span>
);

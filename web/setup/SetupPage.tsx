import { useSignal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import type { PlantModel } from '../../api/schemas.ts';
import { onChange } from '../live.ts';
import { loadPlant, plantModel } from '../plant.ts';
import { PlantForm } from './PlantForm.tsx';
import { RecordDialog } from './RecordDialog.tsx';
import { type RecordForm, recordForms, typedFrom } from './record-forms.ts';
import './setup.css';

interface Editing {
  readonly form: RecordForm;
  /** null: a new one. */
  readonly record: unknown;
}

/** The model of the plant: what there is to watch, and how. */
export default function SetupPage() {
  const editing = useSignal<Editing | null>(null);
  useEffect(() => onChange((change) => change?.kind === 'plant' && loadPlant().catch(() => {})), []);
  const plant = plantModel.value;
  if (plant === null) return null;
  return (
    <div class="stack setup">
      <h1>Setup</h1>
      <p>
        {plant.people.length === 0
          ? 'First a person, who signs for what follows. Then the name of the plant and its distance from UTC appear here: set them before anything is measured, for every time on every screen depends on them.'
          : 'From top to bottom, a plant is ready for its first sample in a few short forms. Every change is kept with its reason; nothing is lost.'}
      </p>
      {plant.people.length > 0 && <PlantForm plant={plant.plant} />}
      {recordForms(plant).map((form) => (
        <RecordSection
          key={form.kind}
          form={form}
          plant={plant}
          edit={(record) => {
            editing.value = { form, record };
          }}
        />
      ))}
      {editing.value !== null && (
        <RecordDialog
          {...editing.value}
          close={() => {
            editing.value = null;
          }}
        />
      )}
    </div>
  );
}

/** A table stays readable with this many columns; the rest is in the form. */
const SHOWN_COLUMNS = 5;

function RecordSection({
  form,
  plant,
  edit,
}: {
  form: RecordForm;
  plant: PlantModel;
  edit: (record: unknown) => void;
}) {
  const records: readonly unknown[] = plant[form.kind];
  const columns = form.fields.slice(0, SHOWN_COLUMNS);
  return (
    <details class="panel" open={records.length === 0}>
      <summary>
        <h2>{form.title}</h2> <span>{records.length}</span>
      </summary>
      <p>{form.why}</p>
      {records.length > 0 && (
        // biome-ignore lint/a11y/noNoninteractiveTabindex: a table wider than the screen scrolls by keyboard
        <section class="scroll" tabIndex={0} aria-label={`${form.title}, table`}>
          <table>
            <thead>
              <tr>
                {columns.map((field) => (
                  <th key={field.name} scope="col">
                    {field.label}
                  </th>
                ))}
                <th scope="col">Change</th>
              </tr>
            </thead>
            <tbody>
              {records.map((record) => {
                const typed = typedFrom(form, record);
                const key = form.keys.map((name) => typed[name]).join(' ');
                return (
                  <tr key={key}>
                    {columns.map((field) => (
                      <td key={field.name}>{typed[field.name]?.replaceAll('\n', ', ')}</td>
                    ))}
                    <td>
                      <button type="button" onClick={() => edit(record)}>
                        Change <span class="visually-hidden">{key}</span>
                      </button>
                    </td>
                  </tr>
                );
              })}
            </tbody>
          </table>
        </section>
      )}
      <button type="button" class="main" onClick={() => edit(null)}>
        Add a {form.one}
      </button>
    </details>
  );
}

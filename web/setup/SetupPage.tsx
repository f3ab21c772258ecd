import { useSignal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import { onChange } from '../live.ts';
import { loadPlant, plantModel } from '../plant.ts';
import { PlantForm } from './PlantForm.tsx';
import { RecordDialog } from './RecordDialog.tsx';
import { RecordSection } from './RecordSection.tsx';
import { RoutingSetup } from './RoutingSetup.tsx';
import { type RecordForm, recordForms } from './record-forms.ts';
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
          records={plant[form.kind]}
          edit={(record) => {
            editing.value = { form, record };
          }}
        />
      ))}
      {plant.lines.length > 0 && <RoutingSetup plant={plant} />}
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

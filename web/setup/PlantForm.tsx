import { useSignal } from '@preact/signals';
import type { Plant } from '../../api/schemas.ts';
import { call } from '../client.ts';
import { parseTyped } from '../format.ts';
import { whyNot } from '../permissions.ts';
import { loadPlant } from '../plant.ts';
import { personIsNamed } from '../session.ts';
import { Field } from '../ui/Field.tsx';
import { Notice } from '../ui/Notice.tsx';
import { ProblemNotice, wrongAt } from '../ui/ProblemNotice.tsx';

/** The plant's name and its local time. */
export function PlantForm({ plant }: { plant: Plant }) {
  const name = useSignal(plant.name);
  const hours = useSignal(String(plant.utcOffsetMinutes / 60));
  const problem = useSignal<Error | null>(null);
  const saved = useSignal(false);
  const refusal = whyNot('change the plant');
  const offset = parseTyped(hours.value);

  const save = async (event: Event) => {
    event.preventDefault();
    if (offset === null || !personIsNamed()) return;
    try {
      const record = { name: name.value, utcOffsetMinutes: Math.round(offset * 60) };
      await call('PUT /api/plant', { body: { record, reason: 'Plant name and local time set in Setup' } });
      problem.value = null;
      saved.value = true;
      await loadPlant();
    } catch (error) {
      problem.value = error as Error;
    }
  };

  return (
    <form class="panel row" onSubmit={save}>
      <Field label="Plant" wrong={wrongAt(problem.value, 'record.name')}>
        <input
          value={name.value}
          disabled={refusal !== null}
          onInput={(event) => (name.value = event.currentTarget.value)}
        />
      </Field>
      <Field
        label="Hours from UTC"
        hint="Fixed all year, so that no shift has 7 or 9 hours"
        wrong={
          offset === null
            ? 'Type a number, such as 2 or -5.5'
            : wrongAt(problem.value, 'record.utcOffsetMinutes')
        }
      >
        <input
          size={6}
          value={hours.value}
          disabled={refusal !== null}
          onInput={(event) => (hours.value = event.currentTarget.value)}
        />
      </Field>
      {refusal === null ? <button type="submit">Save</button> : <p>{refusal}</p>}
      <ProblemNotice error={problem.value} shownFields={['record.name', 'record.utcOffsetMinutes']} />
      {saved.value && problem.value === null && <Notice kind="fine" title="Saved" />}
    </form>
  );
}

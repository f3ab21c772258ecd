import { useSignal } from '@preact/signals';
import type { Alarm, AlarmDetail } from '../../api/schemas.ts';
import { call } from '../client.ts';
import { newId } from '../new-id.ts';
import { whyNot } from '../permissions.ts';
import { personIsNamed } from '../session.ts';
import { Field } from '../ui/Field.tsx';
import { ProblemNotice } from '../ui/ProblemNotice.tsx';
import { shelvedSentence } from './shelved-sentence.ts';

const times: readonly (readonly [number, string])[] = [
  [30, '30 minutes'],
  [60, '1 hour'],
  [120, '2 hours'],
  [240, '4 hours'],
  [480, '8 hours'],
];

/** Takes an alarm off the list of what calls, for a reason and a time, or back. It says nothing about the parts. */
export function Shelf({ alarm, changed }: { alarm: Alarm; changed: (answer: AlarmDetail) => void }) {
  const reason = useSignal('');
  const minutes = useSignal(60);
  const problem = useSignal<Error | null>(null);
  const busy = useSignal(false);
  const { shelved } = alarm;
  const refusal = whyNot('shelve alarms');

  const submit = async (event: Event): Promise<void> => {
    event.preventDefault();
    if (busy.value || !personIsNamed()) return;
    busy.value = true;
    const params = { id: alarm.id };
    const entry = { id: newId(), reason: reason.value };
    try {
      const answer =
        shelved === null
          ? await call('POST /api/alarms/{id}/shelving', {
              params,
              body: { ...entry, minutes: minutes.value },
            })
          : await call('POST /api/alarms/{id}/unshelving', { params, body: entry });
      problem.value = null;
      reason.value = '';
      changed(answer);
    } catch (error) {
      problem.value = error as Error;
    } finally {
      busy.value = false;
    }
  };

  return (
    <form onSubmit={submit}>
      <fieldset>
        <legend>{shelved === null ? 'Shelve' : 'Shelved'}</legend>
        <p>
          {shelved === null
            ? 'It stays visible and calls nobody until then. The suspect parts stay suspect.'
            : `${shelvedSentence(shelved)}.`}
        </p>
        {refusal !== null ? (
          <p>{refusal}</p>
        ) : (
          <div class="row">
            <Field label={shelved === null ? 'Reason to let it wait' : 'Reason to take it back'}>
              <input
                value={reason.value}
                onInput={(event) => {
                  reason.value = event.currentTarget.value;
                }}
              />
            </Field>
            {shelved === null && (
              <Field label="For how long">
                <select
                  value={String(minutes.value)}
                  onChange={(event) => {
                    minutes.value = Number(event.currentTarget.value);
                  }}
                >
                  {times.map(([count, words]) => (
                    <option key={count} value={String(count)}>
                      {words}
                    </option>
                  ))}
                </select>
              </Field>
            )}
            <button type="submit" disabled={busy.value || reason.value.trim() === ''}>
              {shelved === null ? 'Shelve the alarm' : 'Take it back now'}
            </button>
          </div>
        )}
        <ProblemNotice error={problem.value} />
      </fieldset>
    </form>
  );
}

import { useSignal } from '@preact/signals';
import { useEffect, useRef } from 'preact/hooks';
import { call } from '../client.ts';
import { formatTime } from '../format.ts';
import { streamTitle } from '../names.ts';
import { utcOffsetMinutes } from '../plant.ts';
import { personIsNamed } from '../session.ts';
import { Field } from '../ui/Field.tsx';
import { ProblemNotice } from '../ui/ProblemNotice.tsx';
import type { MissedSamples } from './task-order.ts';

const usualReasons = [
  'The line stood',
  'No time, another call came first',
  'Gauge not to be had or not fit to use',
  'Nobody was here',
];

/** Samples that were not taken, and why: one reason for all that are ticked. */
export function MissedDialog({
  missed,
  declared,
  close,
}: {
  missed: MissedSamples;
  declared: () => void;
  close: () => void;
}) {
  const dialog = useRef<HTMLDialogElement>(null);
  const ticked = useSignal<readonly string[]>(missed.dueAt);
  const other = useSignal('');
  const problem = useSignal<Error | null>(null);
  const busy = useSignal(false);
  useEffect(() => dialog.current?.showModal(), []);

  const declare = async (reason: string) => {
    if (busy.value || !personIsNamed()) return;
    if (ticked.value.length === 0) {
      problem.value = new Error('Tick at least one time.');
      return;
    }
    busy.value = true;
    try {
      for (const dueAt of ticked.value) {
        await call('POST /api/missed-samples', { body: { streamId: missed.streamId, dueAt, reason } });
        ticked.value = ticked.value.filter((time) => time !== dueAt);
      }
      dialog.current?.close();
    } catch (error) {
      problem.value = error as Error;
    } finally {
      busy.value = false;
      declared();
    }
  };

  return (
    <dialog ref={dialog} class="station-dialog" aria-labelledby="why-missed" onClose={close}>
      <div class="stack">
        <h2 id="why-missed">Why was {streamTitle(missed.streamId)} missed?</h2>
        <fieldset class="station-times">
          <legend>Was due</legend>
          {missed.dueAt.map((dueAt) => (
            <label key={dueAt} class="station-choice">
              <input
                type="checkbox"
                checked={ticked.value.includes(dueAt)}
                onChange={(event) => {
                  const others = ticked.value.filter((time) => time !== dueAt);
                  ticked.value = event.currentTarget.checked ? [...others, dueAt].sort() : others;
                }}
              />
              <span>{formatTime(dueAt, utcOffsetMinutes.value)}</span>
            </label>
          ))}
        </fieldset>
        {usualReasons.map((reason) => (
          <button key={reason} type="button" disabled={busy.value} onClick={() => declare(reason)}>
            {reason}
          </button>
        ))}
        <form
          class="station-other"
          onSubmit={(event) => {
            event.preventDefault();
            declare(other.value);
          }}
        >
          <Field label="Another reason">
            <input
              required
              maxLength={2000}
              value={other.value}
              onInput={(event) => {
                other.value = event.currentTarget.value;
              }}
            />
          </Field>
          <button type="submit" disabled={busy.value}>
            Record
          </button>
        </form>
        <ProblemNotice error={problem.value} />
        <button type="button" onClick={() => dialog.current?.close()}>
          Back
        </button>
      </div>
    </dialog>
  );
}

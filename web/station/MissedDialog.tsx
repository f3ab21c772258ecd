import { useSignal } from '@preact/signals';
import { useEffect, useRef } from 'preact/hooks';
import { call } from '../client.ts';
import { formatDateTime } from '../format.ts';
import { utcOffsetMinutes } from '../plant.ts';
import { personIsNamed } from '../session.ts';
import { Field } from '../ui/Field.tsx';
import { ProblemNotice } from '../ui/ProblemNotice.tsx';
import { streamTitle } from './names.ts';
import type { MissedSlot } from './task-order.ts';

const usualReasons = [
  'The line stood',
  'No time, another call came first',
  'Gauge not to be had or not fit to use',
  'Nobody was here',
];

/** A sample that was not taken, and why. */
export function MissedDialog({
  slot,
  declared,
  close,
}: {
  slot: MissedSlot;
  declared: () => void;
  close: () => void;
}) {
  const dialog = useRef<HTMLDialogElement>(null);
  const other = useSignal('');
  const problem = useSignal<Error | null>(null);
  const busy = useSignal(false);
  useEffect(() => dialog.current?.showModal(), []);

  const declare = async (reason: string) => {
    if (busy.value || !personIsNamed()) return;
    busy.value = true;
    try {
      await call('POST /api/missed-samples', { body: { ...slot, reason } });
      declared();
      dialog.current?.close();
    } catch (error) {
      problem.value = error as Error;
    } finally {
      busy.value = false;
    }
  };

  return (
    <dialog ref={dialog} class="station-dialog" aria-labelledby="why-missed" onClose={close}>
      <div class="stack">
        <h2 id="why-missed">
          Why was {streamTitle(slot.streamId)} missed at {formatDateTime(slot.dueAt, utcOffsetMinutes.value)}?
        </h2>
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

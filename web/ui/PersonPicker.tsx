import { useSignalEffect } from '@preact/signals';
import { useRef } from 'preact/hooks';
import { peopleById, plantModel } from '../plant.ts';
import { actingPersonId, askingWho } from '../session.ts';
import { roleNames } from './role-names.ts';

/** Where nobody signs in: who is here? Every record carries the answer. */
export function PersonPicker() {
  const dialog = useRef<HTMLDialogElement>(null);
  useSignalEffect(() => {
    if (askingWho.value && dialog.current?.open === false) {
      dialog.current.showModal();
      // Browsers keep how far a closed dialog was scrolled.
      dialog.current.scrollTop = 0;
    }
  });
  const person = actingPersonId.value === null ? undefined : peopleById.value.get(actingPersonId.value);
  if (plantModel.value === null || plantModel.value.people.length === 0) return null;
  return (
    <>
      <button
        type="button"
        onClick={() => {
          askingWho.value = true;
        }}
      >
        {person?.name ?? 'Who is here?'}
      </button>
      <dialog
        ref={dialog}
        aria-labelledby="who-title"
        onClose={() => {
          askingWho.value = false;
        }}
      >
        <h2 id="who-title">Who is here?</h2>
        <p>Every entry carries this name.</p>
        <div class="stack">
          {plantModel.value.people.map((candidate) => (
            <button
              key={candidate.id}
              type="button"
              class={`person ${candidate.id === person?.id ? 'main' : ''}`}
              aria-pressed={candidate.id === person?.id}
              onClick={() => {
                actingPersonId.value = candidate.id;
                dialog.current?.close();
              }}
            >
              <span>{candidate.name}</span>
              <small>{roleNames[candidate.role]}</small>
            </button>
          ))}
          <button type="button" onClick={() => dialog.current?.close()}>
            Close
          </button>
        </div>
      </dialog>
    </>
  );
}

import { useSignal } from '@preact/signals';
import { useEffect, useRef } from 'preact/hooks';
import { fetchAnswer } from '../client.ts';
import { whyNotSave } from '../permissions.ts';
import { loadPlant, plantModel } from '../plant.ts';
import { actingPersonId, personIsNamed } from '../session.ts';
import { noSignature, SecondSigner, secondSignerFields, signatureFrom } from '../sign-in/SecondSigner.tsx';
import { Field } from '../ui/Field.tsx';
import { ProblemNotice, wrongAt } from '../ui/ProblemNotice.tsx';
import { type FormField, type RecordForm, recordFrom, typedFrom } from './record-forms.ts';

/** Adds or changes one plant record. A change asks why. */
export function RecordDialog({
  form,
  record,
  close,
}: {
  form: RecordForm;
  record: unknown;
  close: () => void;
}) {
  const dialog = useRef<HTMLDialogElement>(null);
  const isNew = record === null;
  const typed = useSignal(isNew ? form.start : typedFrom(form, record));
  const reason = useSignal('');
  const signature = useSignal(noSignature);
  /** What parts are judged by is changed by two people. */
  const byTwo = !isNew && (form.kind === 'specifications' || form.kind === 'plans');
  const problem = useSignal<Error | null>(null);
  const wrong = useSignal<Readonly<Record<string, string>>>({});
  const busy = useSignal(false);
  const refusal = whyNotSave(form.kind);

  useEffect(() => {
    dialog.current!.showModal();
    // What is only looked at begins at its top, though the first thing to press is at its end.
    dialog.current!.scrollTop = 0;
  }, []);

  const set = (name: string, value: string) => {
    typed.value = { ...typed.value, [name]: value };
  };

  const save = async (event: Event) => {
    event.preventDefault();
    const firstPerson = form.kind === 'people' && plantModel.value?.people.length === 0;
    const read = recordFrom(form, typed.value);
    wrong.value = read.wrong;
    if (Object.keys(read.wrong).length > 0 || busy.value || (!firstPerson && !personIsNamed())) return;
    const key = form.keys.map((name) => encodeURIComponent(typed.value[name] ?? '')).join('/');
    busy.value = true;
    try {
      await fetchAnswer(`/api/${form.kind}${key === '' ? '' : `/${key}`}`, {
        method: 'PUT',
        headers: { 'Content-Type': 'application/json' },
        body: JSON.stringify({
          record: read.record,
          ...(!isNew && { reason: reason.value }),
          ...(byTwo && signatureFrom(signature.value)),
        }),
      });
      await loadPlant();
      if (firstPerson) actingPersonId.value = typed.value.id ?? null;
      dialog.current?.close();
    } catch (error) {
      problem.value = error as Error;
    } finally {
      busy.value = false;
    }
  };

  return (
    <dialog ref={dialog} aria-labelledby="record-dialog-title" onClose={close}>
      <form class="stack" onSubmit={save} noValidate>
        <h2 id="record-dialog-title">
          {refusal !== null ? 'The' : isNew ? 'Add a' : 'Change the'} {form.one}
        </h2>
        {refusal !== null && <p>{refusal}</p>}
        <fieldset class="record stack" disabled={refusal !== null}>
          {form.fields.map((field) => (
            <Control
              key={field.name}
              field={field}
              value={typed.value[field.name] ?? ''}
              wrong={wrong.value[field.name] ?? wrongAt(problem.value, field.name)}
              locked={!isNew && form.keys.includes(field.name)}
              set={(value) => set(field.name, value)}
            />
          ))}
        </fieldset>
        {!isNew && refusal === null && (
          <Field label="Why this change?" wrong={wrongAt(problem.value, 'reason')}>
            <input
              required
              value={reason.value}
              onInput={(event) => (reason.value = event.currentTarget.value)}
            />
          </Field>
        )}
        {byTwo && refusal === null && (
          <SecondSigner
            what="changed specification or sampling plan"
            why="Parts are judged by this, so engineering and quality sign a change together."
            typed={signature.value}
            problem={problem.value}
            change={(next) => {
              signature.value = next;
            }}
          />
        )}
        <ProblemNotice
          error={problem.value}
          shownFields={[
            ...form.fields.flatMap((field) => [field.name, `record.${field.name}`]),
            'reason',
            ...secondSignerFields,
          ]}
        />
        <div class="row">
          {refusal === null && (
            <button type="submit" class="main" disabled={busy.value}>
              Save
            </button>
          )}
          <button type="button" onClick={() => dialog.current?.close()}>
            {refusal === null ? 'Leave it' : 'Close'}
          </button>
        </div>
      </form>
    </dialog>
  );
}

function Control({
  field,
  value,
  wrong,
  locked,
  set,
}: {
  field: FormField;
  value: string;
  wrong: string | null;
  locked: boolean;
  set: (value: string) => void;
}) {
  if (field.type === 'choices') {
    const chosen = value.split('\n').filter((item) => item !== '');
    return (
      <fieldset>
        <legend>{field.label}</legend>
        <div class="row">
          {field.choices.map((choice) => (
            <label key={choice.value} class="check">
              <input
                type="checkbox"
                checked={chosen.includes(choice.value)}
                onChange={(event) => {
                  const kept = chosen.filter((item) => item !== choice.value);
                  set((event.currentTarget.checked ? [...kept, choice.value] : kept).sort().join('\n'));
                }}
              />{' '}
              {choice.name}
            </label>
          ))}
        </div>
        {wrong && (
          <p class="wrong" role="alert">
            {wrong}
          </p>
        )}
      </fieldset>
    );
  }
  return (
    <Field label={field.label} hint={field.hint} wrong={wrong}>
      {field.type === 'choice' ? (
        <select value={value} disabled={locked} onChange={(event) => set(event.currentTarget.value)}>
          <option value="">Choose…</option>
          {field.choices.map((choice) => (
            <option key={choice.value} value={choice.value}>
              {choice.name}
            </option>
          ))}
        </select>
      ) : field.type === 'yes-no' ? (
        <select value={value} onChange={(event) => set(event.currentTarget.value)}>
          <option value="yes">yes</option>
          <option value="no">no</option>
        </select>
      ) : field.type === 'lines' ? (
        <textarea rows={5} value={value} onInput={(event) => set(event.currentTarget.value)} />
      ) : (
        <input
          value={value}
          disabled={locked}
          inputMode={field.type === 'number' ? 'decimal' : 'text'}
          onInput={(event) => set(event.currentTarget.value)}
        />
      )}
    </Field>
  );
}

import { useSignal } from '@preact/signals';
import { useRef } from 'preact/hooks';
import { call } from '../client.ts';
import { newId } from '../new-id.ts';
import { personIsNamed } from '../session.ts';
import { Field } from '../ui/Field.tsx';
import { ProblemNotice, wrongAt } from '../ui/ProblemNotice.tsx';
import { wholeNumber } from './whole-number.ts';

const empty = { customer: '', document: '', givenBy: '', on: '', quantity: '', expiresOn: '', reason: '' };
type FieldName = keyof typeof empty;

const fields: readonly (readonly [FieldName, string, string, string])[] = [
  ['customer', 'Customer, as the plant calls them', '', 'customer'],
  ['document', 'Where their consent can be read', 'Number of the letter, mail or form', 'consent.document'],
  ['givenBy', 'Who gave it there', '', 'consent.givenBy'],
  ['on', 'On which day', '', 'consent.on'],
  ['quantity', 'How many parts they take', '', 'quantity'],
  ['expiresOn', 'Last day', 'After it nothing goes under it', 'expiresOn'],
  ['reason', 'Why the parts will do', '', 'reason'],
];

/** The quality manager signs; the customer has no account here, so their consent is written down as evidence. */
export function NewConcession({
  alarmId,
  changed,
  signed,
}: {
  alarmId: number;
  changed: () => Promise<void>;
  signed: () => void;
}) {
  const typed = useSignal(empty);
  const problem = useSignal<Error | null>(null);
  const busy = useSignal(false);
  const id = useRef(newId());
  const quantity = wholeNumber(typed.value.quantity);

  const type =
    (name: FieldName) =>
    (event: { readonly currentTarget: HTMLInputElement }): void => {
      typed.value = { ...typed.value, [name]: event.currentTarget.value };
    };

  const submit = async (event: Event): Promise<void> => {
    event.preventDefault();
    if (busy.value || quantity === null || !personIsNamed()) return;
    busy.value = true;
    const { customer, document, givenBy, on, expiresOn, reason } = typed.value;
    try {
      await call('POST /api/concessions', {
        body: {
          id: id.current,
          alarmId,
          customer,
          consent: { document, givenBy, on },
          quantity,
          expiresOn,
          reason,
        },
      });
      problem.value = null;
      typed.value = empty;
      id.current = newId();
      signed();
    } catch (error) {
      problem.value = error as Error;
    } finally {
      await changed();
      busy.value = false;
    }
  };

  return (
    <form class="stack" onSubmit={submit}>
      <p>
        You sign as quality manager. The customer signs elsewhere, so their consent stands here as the second
        signature. It changes no verdict, no limit and no count.
      </p>
      {fields.map(([name, label, hint, field]) => (
        <Field
          key={name}
          label={label}
          hint={hint}
          wrong={
            name === 'quantity' && typed.value.quantity !== '' && quantity === null
              ? 'Whole number, digits only'
              : wrongAt(problem.value, field)
          }
        >
          {name === 'on' || name === 'expiresOn' ? (
            <input type="date" required value={typed.value[name]} onInput={type(name)} />
          ) : (
            <input
              inputMode={name === 'quantity' ? 'numeric' : 'text'}
              required
              value={typed.value[name]}
              onInput={type(name)}
            />
          )}
        </Field>
      ))}
      <ProblemNotice error={problem.value} shownFields={fields.map(([, , , field]) => field)} />
      <p class="row">
        <button type="submit" class="main" disabled={busy.value}>
          Sign the concession
        </button>
      </p>
    </form>
  );
}

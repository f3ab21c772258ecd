import { useSignal } from '@preact/signals';
import { useRef } from 'preact/hooks';
import type { Concession } from '../../api/schemas.ts';
import { call } from '../client.ts';
import { formatDateTime } from '../format.ts';
import { newId } from '../new-id.ts';
import { whyNot } from '../permissions.ts';
import { peopleById, utcOffsetMinutes } from '../plant.ts';
import { personIsNamed } from '../session.ts';
import { Field } from '../ui/Field.tsx';
import { Notice } from '../ui/Notice.tsx';
import { ProblemNotice, wrongAt } from '../ui/ProblemNotice.tsx';
import { wholeNumber } from './whole-number.ts';

const stateWords = {
  valid: { kind: 'ask', title: 'holds' },
  'used up': { kind: 'quiet', title: 'is used up' },
  expired: { kind: 'call', title: 'has expired' },
  withdrawn: { kind: 'quiet', title: 'was withdrawn' },
} as const;
const entryWords = { released: 'Released', 'taken back': 'Taken back', withdrawn: 'Withdrawn' } as const;
const nameOf = (id: string): string => peopleById.value.get(id)?.name ?? id;

/** One concession: what may still go, what went, and the entries that a quality manager adds. */
export function ConcessionCard({
  concession,
  changed,
}: {
  concession: Concession;
  changed: () => Promise<void>;
}) {
  const { no, state, customer, consent, sentence, reason, personId, at, entries } = concession;
  const { kind, title } = stateWords[state];
  return (
    <li>
      <Notice kind={kind} title={`Concession ${no}, ${customer}, ${title}`}>
        <p>
          <strong>{sentence}</strong>
        </p>
        <p>Why the parts will do: {reason}</p>
        <p>
          Signed by {nameOf(personId)}, {formatDateTime(at, utcOffsetMinutes.value)}. In the place of the
          second signature stands the customer’s consent: {consent.document}, {consent.givenBy}, {consent.on}.
        </p>
        {entries.length > 0 && (
          <details>
            <summary>What went under it ({entries.length})</summary>
            <ul>
              {entries.map((entry) => (
                <li key={`${entry.at}${entry.text}`}>
                  {entryWords[entry.kind]}
                  {entry.quantity !== null && ` ${entry.quantity}`}: {entry.text}. {nameOf(entry.personId)},{' '}
                  {formatDateTime(entry.at, utcOffsetMinutes.value)}
                </li>
              ))}
            </ul>
          </details>
        )}
      </Notice>
      {(state !== 'withdrawn' || concession.released > 0) && whyNot('grant concessions') === null && (
        <details class="concession-entry">
          <summary>
            {state === 'withdrawn' ? 'Take released parts back' : 'Release, take back or withdraw'}
          </summary>
          <EntryForm concession={concession} changed={changed} />
        </details>
      )}
    </li>
  );
}

function EntryForm({ concession, changed }: { concession: Concession; changed: () => Promise<void> }) {
  const quantity = useSignal('');
  const text = useSignal('');
  const problem = useSignal<Error | null>(null);
  const busy = useSignal(false);
  const id = useRef(newId());
  const { no, state, left, released } = concession;
  const count = wholeNumber(quantity.value);
  const ready = text.value.trim() !== '' && !busy.value;

  const add = async (kind: 'released' | 'taken back' | 'withdrawn'): Promise<void> => {
    if (busy.value || !personIsNamed()) return;
    busy.value = true;
    const common = { id: id.current, text: text.value };
    const body = kind === 'withdrawn' ? { ...common, kind } : { ...common, kind, quantity: count! };
    try {
      await call('POST /api/concessions/{id}/entries', { params: { id: no }, body });
      problem.value = null;
      quantity.value = '';
      text.value = '';
      id.current = newId();
    } catch (error) {
      problem.value = error as Error;
    } finally {
      await changed();
      busy.value = false;
    }
  };

  return (
    <form class="stack" onSubmit={(event) => event.preventDefault()}>
      <p>Quality releases parts, counted by hand, and only for this customer.</p>
      <div class="row">
        <Field
          label="Parts"
          hint={`${left} left of what the customer takes, ${released} went`}
          wrong={
            quantity.value !== '' && count === null
              ? 'Whole number, digits only'
              : wrongAt(problem.value, 'quantity')
          }
        >
          <input
            inputMode="numeric"
            size={8}
            value={quantity.value}
            onInput={(event) => {
              quantity.value = event.currentTarget.value;
            }}
          />
        </Field>
        <Field label="Which, and why" hint="Trolleys, delivery note">
          <input
            value={text.value}
            maxLength={2000}
            onInput={(event) => {
              text.value = event.currentTarget.value;
            }}
          />
        </Field>
      </div>
      <ProblemNotice error={problem.value} shownFields={['quantity']} />
      <p class="row">
        {state === 'valid' && (
          <button
            type="button"
            class="main"
            disabled={!ready || count === null}
            onClick={() => add('released')}
          >
            Release these parts
          </button>
        )}
        {released > 0 && (
          <button type="button" disabled={!ready || count === null} onClick={() => add('taken back')}>
            Take back
          </button>
        )}
        {state !== 'withdrawn' && (
          <button type="button" disabled={!ready} onClick={() => add('withdrawn')}>
            Withdraw the concession
          </button>
        )}
      </p>
    </form>
  );
}

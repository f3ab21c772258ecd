import { useSignal } from '@preact/signals';
import { useRef } from 'preact/hooks';
import type { OpenMatter, OpenWork } from '../../api/schemas.ts';
import { call } from '../client.ts';
import { newId } from '../new-id.ts';
import { whyNot } from '../permissions.ts';
import { personIsNamed } from '../session.ts';
import { Field } from '../ui/Field.tsx';
import { Notice } from '../ui/Notice.tsx';
import { ProblemNotice } from '../ui/ProblemNotice.tsx';
import { OpenWorkSheet } from './OpenWorkSheet.tsx';
import { SignatureLines } from './SignatureLines.tsx';
import { isUnseen, UnseenNotice } from './UnseenNotice.tsx';
import { useKeptFresh } from './use-kept-fresh.ts';

const keysOf = ({ sections }: OpenWork): string[] =>
  sections.flatMap(({ matters }) => matters.map(({ key }) => key));

/** What is open now, and the signature of the supervisor who goes. */
export function GiveHandover({ given }: { given: (no: number) => void }) {
  const { value: open, problem: unread, refresh } = useKeptFresh(() => call('GET /api/open-work'));
  const problem = useSignal<Error | null>(null);
  const words = useSignal('');
  const busy = useSignal(false);
  /** The same until it is stored, so that pressing again after a lost answer hands over once. */
  const id = useRef(newId());
  const firstKeys = useRef<ReadonlySet<string> | null>(null);

  if (open.value === null)
    return unread.value === null ? (
      <p role="status">Putting together what is open…</p>
    ) : (
      <ProblemNotice error={unread.value} />
    );
  const keys = keysOf(open.value);
  firstKeys.current ??= new Set(keys);
  const isNew = ({ key }: OpenMatter): boolean => firstKeys.current?.has(key) === false;

  const submit = async (event: Event): Promise<void> => {
    event.preventDefault();
    if (busy.value || !personIsNamed()) return;
    busy.value = true;
    try {
      const body = { id: id.current, words: words.value, seen: keys };
      const { no } = await call('POST /api/handovers', { body });
      given(no);
    } catch (error) {
      problem.value = error as Error;
      await refresh();
    } finally {
      busy.value = false;
    }
  };

  return (
    <>
      <h1 class="handover-headline">
        {keys.length === 0
          ? 'Nothing is open'
          : `${keys.length} open ${keys.length === 1 ? 'thing' : 'things'}`}
      </h1>
      <p>
        Read them, add what to watch, and hand over: whoever comes can only look after what is written here.
      </p>
      <ProblemNotice error={unread.value} />
      <UnseenNotice error={problem.value} />
      <OpenWorkSheet open={open.value} isNew={isNew} />
      {whyNot('hand over a shift') === null ? (
        <form class="panel stack no-print" onSubmit={submit}>
          <Field
            label="Temporary rules, and what to watch"
            hint="Tighter sampling, a line at half speed, a setter who is on the way. It is kept with the list above."
          >
            <textarea
              rows={4}
              maxLength={2000}
              value={words.value}
              onInput={(event) => {
                words.value = event.currentTarget.value;
              }}
            />
          </Field>
          {!isUnseen(problem.value) && <ProblemNotice error={problem.value} />}
          <p class="row">
            <button type="submit" class="main" disabled={busy.value}>
              Hand over: I sign for this list
            </button>
          </p>
          <p>It waits, for all to see on Floor, until another supervisor has read it and signs as well.</p>
        </form>
      ) : (
        <Notice kind="quiet" title="Supervisors hand over">
          {whyNot('hand over a shift')} You can read and print this list.
        </Notice>
      )}
      <SignatureLines of={['Gives', 'Takes over']} />
    </>
  );
}

import { type Signal, useSignal } from '@preact/signals';
import { useRef } from 'preact/hooks';
import type { Handover } from '../../api/schemas.ts';
import { call } from '../client.ts';
import { formatDateTime } from '../format.ts';
import { newId } from '../new-id.ts';
import { whyNot } from '../permissions.ts';
import { peopleById, utcOffsetMinutes } from '../plant.ts';
import { actingPersonId, personIsNamed } from '../session.ts';
import { Field } from '../ui/Field.tsx';
import { Notice } from '../ui/Notice.tsx';
import { ProblemNotice } from '../ui/ProblemNotice.tsx';
import { MatterList } from './MatterList.tsx';
import { OpenWorkSheet } from './OpenWorkSheet.tsx';
import { SignatureLines } from './SignatureLines.tsx';
import { isUnseen, UnseenNotice } from './UnseenNotice.tsx';
import { useKeptFresh } from './use-kept-fresh.ts';

const nameOf = (id: string): string => peopleById.value.get(id)?.name ?? id;
const time = (at: string): string => formatDateTime(at, utcOffsetMinutes.value);

/** One handover as it was given, with what has come up since, and the signature of whoever comes. */
export function HandoverSheet({ no }: { no: number }) {
  const { value, problem, refresh } = useKeptFresh(() =>
    call('GET /api/handovers/{id}', { params: { id: no } }),
  );
  const refusal = useSignal<Error | null>(null);
  const handover = value.value;
  if (handover === null)
    return problem.value === null ? <p role="status">Loading…</p> : <ProblemNotice error={problem.value} />;
  const { state, personId, at, words, openedSince, end } = handover;
  const waits = state === 'waiting';
  return (
    <>
      <h1 class="handover-headline">
        Handover {no}
        {waits ? ' waits' : state === 'taken' ? ' was taken over' : ' was withdrawn'}
      </h1>
      {waits && <p>Read it and take it over: until then nobody answers for what is open here.</p>}
      <p>
        Given by <strong>{nameOf(personId)}</strong>, {time(at)}.{' '}
        {end !== null && (
          <>
            {end.kind === 'taken' ? 'Taken over' : 'Withdrawn'} by <strong>{nameOf(end.personId)}</strong>,{' '}
            {time(end.at)}.
          </>
        )}
      </p>
      {words !== '' && (
        <section class="panel" aria-labelledby="words-title">
          <h2 id="words-title">Temporary rules, and what to watch</h2>
          <p class="typed-words">{words}</p>
        </section>
      )}
      {end !== null && end.words !== '' && (
        <section class="panel" aria-labelledby="end-words-title">
          <h2 id="end-words-title">
            {end.kind === 'taken' ? 'Written at taking over' : 'Why it was withdrawn'}
          </h2>
          <p class="typed-words">{end.words}</p>
        </section>
      )}
      <UnseenNotice error={refusal.value} />
      {openedSince.length > 0 && (
        <Notice
          kind="ask"
          title={`${openedSince.length} ${openedSince.length === 1 ? 'thing' : 'things'} came up after it was given`}
        >
          <MatterList matters={openedSince} />
        </Notice>
      )}
      <p class="no-print">The list is as it was then; Floor shows how things stand now.</p>
      <OpenWorkSheet open={handover.open} />
      {waits && <Answer handover={handover} changed={refresh} problem={refusal} />}
      {waits && <SignatureLines of={['Takes over']} />}
    </>
  );
}

/** Whoever comes takes it over; whoever gave it may withdraw it. */
function Answer({
  handover,
  changed,
  problem,
}: {
  handover: Handover;
  changed: () => Promise<void>;
  problem: Signal<Error | null>;
}) {
  const words = useSignal('');
  const busy = useSignal(false);
  const id = useRef(newId());
  const params = { id: handover.no };
  const isMine = actingPersonId.value === handover.personId;
  if (whyNot('hand over a shift') !== null)
    return (
      <Notice kind="quiet" title="Supervisors take over">
        {whyNot('hand over a shift')} You can read and print this.
      </Notice>
    );

  const send = async (work: () => Promise<unknown>): Promise<void> => {
    if (busy.value || !personIsNamed()) return;
    busy.value = true;
    try {
      await work();
      problem.value = null;
    } catch (error) {
      problem.value = error as Error;
    } finally {
      await changed();
      busy.value = false;
    }
  };
  const seen = handover.openedSince.map(({ key }) => key);
  const take = () =>
    send(() =>
      call('POST /api/handovers/{id}/taking', { params, body: { id: id.current, words: words.value, seen } }),
    );
  const withdraw = () =>
    send(() =>
      call('POST /api/handovers/{id}/withdrawal', { params, body: { id: id.current, reason: words.value } }),
    );

  return (
    <form class="panel stack no-print" onSubmit={(event) => event.preventDefault()}>
      <Field
        label={isMine ? 'Why it is withdrawn' : 'Your words'}
        hint={
          isMine
            ? 'Only if it was given by mistake, or something is missing. Another supervisor takes it over.'
            : 'What you will do first. It may stay empty; to withdraw it, write why.'
        }
      >
        <textarea
          rows={3}
          maxLength={2000}
          value={words.value}
          onInput={(event) => {
            words.value = event.currentTarget.value;
          }}
        />
      </Field>
      {!isUnseen(problem.value) && <ProblemNotice error={problem.value} />}
      <p class="row">
        {!isMine && (
          <button type="button" class="main" disabled={busy.value} onClick={take}>
            I have read it: take over
          </button>
        )}
        <button type="button" disabled={busy.value || words.value.trim() === ''} onClick={withdraw}>
          Withdraw it
        </button>
      </p>
    </form>
  );
}

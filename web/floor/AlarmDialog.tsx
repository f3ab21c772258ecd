import { useSignal } from '@preact/signals';
import type { ComponentChildren } from 'preact';
import { useEffect, useRef } from 'preact/hooks';
import type { AlarmDecision, AlarmDetail, AlarmEntrySubmission } from '../../api/schemas.ts';
import { call } from '../client.ts';
import { AlarmConcessions } from '../concessions/AlarmConcessions.tsx';
import { formatCount, formatDateTime } from '../format.ts';
import { onChange } from '../live.ts';
import { modelName, placeOf, streamTitle } from '../names.ts';
import { newId } from '../new-id.ts';
import { whyNot } from '../permissions.ts';
import { peopleById, utcOffsetMinutes } from '../plant.ts';
import { personIsNamed } from '../session.ts';
import { noSignature, SecondSigner, secondSignerFields, signatureFrom } from '../sign-in/SecondSigner.tsx';
import { Field } from '../ui/Field.tsx';
import { ProblemNotice } from '../ui/ProblemNotice.tsx';
import { partsNow } from './part-words.ts';
import { Shelf } from './Shelf.tsx';
import { alarmStateWords, decisionWords, entryWords, severityWords, suspectCount } from './words.ts';

/** One alarm from acknowledging to closing, with its whole record. */
export function AlarmDialog({ alarmId, close }: { alarmId: number; close: () => void }) {
  const dialog = useRef<HTMLDialogElement>(null);
  const detail = useSignal<AlarmDetail | null>(null);
  const problem = useSignal<Error | null>(null);
  const busy = useSignal(false);

  useEffect(() => {
    dialog.current?.showModal();
    const refresh = () =>
      call('GET /api/alarms/{id}', { params: { id: alarmId } }).then(
        (answer) => {
          detail.value = answer;
        },
        (error: Error) => {
          problem.value = error;
        },
      );
    refresh();
    return onChange((change) => {
      if (change === null || (change.kind === 'alarm' && change.alarmId === alarmId)) refresh();
    });
  }, []);

  /** Resolves true when the entry is in the record. */
  const add = async (entry: NewEntry): Promise<boolean> => {
    if (busy.value || !personIsNamed()) return false;
    busy.value = true;
    try {
      const body = { ...entry, id: newId() } as AlarmEntrySubmission;
      detail.value = await call('POST /api/alarms/{id}/entries', { params: { id: alarmId }, body });
      problem.value = null;
      return true;
    } catch (error) {
      problem.value = error as Error;
      return false;
    } finally {
      busy.value = false;
    }
  };

  return (
    <dialog ref={dialog} class="alarm-dialog" aria-labelledby="alarm-title" onClose={close}>
      {detail.value === null ? (
        <h2 id="alarm-title">Alarm {alarmId}</h2>
      ) : (
        <AlarmSheet
          detail={detail.value}
          add={add}
          busy={busy.value}
          problem={problem.value}
          changed={(answer) => {
            detail.value = answer;
          }}
        />
      )}
      <ProblemNotice error={problem.value} shownFields={secondSignerFields} />
      <p class="row">
        <button type="button" onClick={() => dialog.current?.close()}>
          Back to the board
        </button>
      </p>
    </dialog>
  );
}

type NewEntry = AlarmEntrySubmission extends infer E
  ? E extends { id: string }
    ? Omit<E, 'id'>
    : never
  : never;
type Add = (entry: NewEntry) => Promise<boolean>;

function AlarmSheet({
  detail,
  add,
  busy,
  problem,
  changed,
}: {
  detail: AlarmDetail;
  add: Add;
  busy: boolean;
  problem: Error | null;
  changed: (answer: AlarmDetail) => void;
}) {
  const { alarm } = detail;
  const place = placeOf(alarm.streamId);
  const parts = partsNow(alarm);
  const closed = alarm.state === 'closed';
  const refusal = whyNot('work on alarms');
  return (
    <div class="stack">
      <h2 id="alarm-title">
        Alarm {alarm.id}: {streamTitle(alarm.streamId)}
      </h2>
      <p>
        <strong>
          {alarmStateWords[alarm.state]}
          {alarm.closedWhileActive && ' while the last sample still stood on a signal'}.
        </strong>{' '}
        {severityWords[alarm.severity]}. {alarm.sentence} {place.line}, {place.station}, part model{' '}
        {modelName(alarm.modelId)}.{' '}
        <a
          href={`/review?stream=${encodeURIComponent(alarm.streamId)}&model=${encodeURIComponent(alarm.modelId)}`}
        >
          See the charts
        </a>
      </p>

      <div class="alarm-sheet">
        <div class="stack">
          <section class="suspect" aria-labelledby="suspect-title">
            <h3 id="suspect-title">Suspect parts</h3>
            <strong class="suspect-count">{suspectCount(alarm.containment)}</strong>
            <p>{alarm.containment.sentence}</p>
            {parts !== null && (
              <p class={alarm.newest?.outsideSpecification.length ? 'parts-bad' : ''}>{parts}</p>
            )}
          </section>

          {!closed && refusal !== null && <p>{refusal}</p>}
          {!closed && refusal === null && alarm.acknowledgedAt === null && (
            <button type="button" class="main" disabled={busy} onClick={() => add({ kind: 'acknowledged' })}>
              Acknowledge: I am on it
            </button>
          )}
          {!closed && refusal === null && alarm.acknowledgedAt !== null && (
            <NextEntries detail={detail} add={add} busy={busy} problem={problem} />
          )}
          <AlarmConcessions detail={detail} />
          {!closed && <Shelf alarm={alarm} changed={changed} />}
        </div>
        <div class="stack">
          <section aria-labelledby="plan-title">
            <h3 id="plan-title">Reaction plan</h3>
            <ol>
              {detail.reactionPlan.steps.map((step) => (
                <li key={step}>{step}</li>
              ))}
            </ol>
            <ul class="cautions">
              {detail.reactionPlan.cautions.map((caution) => (
                <li key={caution}>{caution}</li>
              ))}
              <li>Runtrue advises. Site rules and authorised staff decide; quality releases parts.</li>
            </ul>
          </section>

          <Record detail={detail} />
        </div>
      </div>
    </div>
  );
}

const decisions: readonly AlarmDecision[] = ['keep-running', 'adjust', 'stop-and-quarantine'];

function NextEntries({
  detail,
  add,
  busy,
  problem,
}: {
  detail: AlarmDetail;
  add: Add;
  busy: boolean;
  problem: Error | null;
}) {
  const { alarm } = detail;
  const current = alarm.decidedBeforeRaisedAgain ? null : alarm.decision;
  const reason = useSignal('');
  const counted = useSignal('');
  const places = useSignal('');
  const signature = useSignal(noSignature);
  const setApart = detail.entries.some(
    ({ kind, decision }) => kind === 'quarantined' || decision === 'stop-and-quarantine',
  );
  const wrongCount = counted.value !== '' && !/^\d{1,9}$/.test(counted.value);
  return (
    <>
      <fieldset>
        <legend>Decide</legend>
        <Field label="Why" hint="One sentence is enough. “No action” is a decision too.">
          <input
            value={reason.value}
            onInput={(event) => {
              reason.value = event.currentTarget.value;
            }}
          />
        </Field>
        <div class="row decisions">
          {decisions.map((decision) => (
            <button
              key={decision}
              type="button"
              class={current === decision ? 'main' : ''}
              aria-pressed={current === decision}
              disabled={busy || reason.value.trim() === ''}
              onClick={async () => {
                if (await add({ kind: 'decision', decision, text: reason.value })) reason.value = '';
              }}
            >
              {decisionWords[decision]}
            </button>
          ))}
        </div>
      </fieldset>

      <fieldset>
        <legend>Fence off</legend>
        <div class="row">
          <Field
            label="Parts counted by hand"
            hint={`All that stand apart now, in the place of any earlier count. Expected: ${suspectCount(alarm.containment)}`}
            wrong={wrongCount ? 'Whole number, digits only' : null}
          >
            <input
              inputMode="numeric"
              size={8}
              value={counted.value}
              onInput={(event) => {
                counted.value = event.currentTarget.value.trim();
              }}
            />
          </Field>
          <Field label="Where they are">
            <input
              value={places.value}
              onInput={(event) => {
                places.value = event.currentTarget.value;
              }}
            />
          </Field>
          <button
            type="button"
            disabled={busy || counted.value === '' || wrongCount || places.value.trim() === ''}
            onClick={async () => {
              const entry = {
                kind: 'quarantined',
                countedParts: Number(counted.value),
                text: places.value,
              } as const;
              if (await add(entry)) {
                counted.value = '';
                places.value = '';
              }
            }}
          >
            Record the count
          </button>
        </div>
      </fieldset>

      <TextEntry
        label="Cause"
        button="Record the cause"
        busy={busy}
        add={(text) => add({ kind: 'cause', text })}
      />
      <TextEntry
        label="Action taken"
        button="Record the action"
        busy={busy}
        add={(text) => add({ kind: 'action', text })}
      />
      <TextEntry
        label="Proof that it is fixed"
        button="Close the alarm"
        hint={
          alarm.cause === null
            ? 'A cause has to be recorded first.'
            : (whyNot('close alarms') ??
              (alarm.active
                ? 'The last sample still stands on a signal. Close only if you know why.'
                : 'Which samples or checks show it?'))
        }
        busy={busy || alarm.cause === null || whyNot('close alarms') !== null}
        add={(text) => add({ kind: 'closed', text, ...(setApart && signatureFrom(signature.value)) })}
      >
        {setApart && (
          <SecondSigner
            what="release of parts set apart"
            why="Parts were set apart for this alarm. Engineering closes it, quality releases them: both sign."
            typed={signature.value}
            problem={problem}
            change={(next) => {
              signature.value = next;
            }}
          />
        )}
      </TextEntry>
    </>
  );
}

function TextEntry({
  label,
  button,
  hint,
  busy,
  add,
  children,
}: {
  label: string;
  button: string;
  hint?: string;
  busy: boolean;
  add: (text: string) => Promise<boolean>;
  children?: ComponentChildren;
}) {
  const text = useSignal('');
  return (
    <form
      class="row text-entry"
      onSubmit={async (event) => {
        event.preventDefault();
        if (await add(text.value)) text.value = '';
      }}
    >
      <Field label={label} hint={hint}>
        <input
          value={text.value}
          onInput={(event) => {
            text.value = event.currentTarget.value;
          }}
        />
      </Field>
      {children}
      <button type="submit" disabled={busy || text.value.trim() === ''}>
        {button}
      </button>
    </form>
  );
}

function Record({ detail }: { detail: AlarmDetail }) {
  return (
    <section aria-labelledby="record-title">
      <h3 id="record-title">Record</h3>
      <ol class="record">
        {detail.entries.map((entry, index) => (
          <li key={`${entry.at}-${index}`}>
            <time dateTime={entry.at}>{formatDateTime(entry.at, utcOffsetMinutes.value)}</time>{' '}
            <strong>{entryWords[entry.kind]}</strong>
            {entry.decision !== null && `: ${decisionWords[entry.decision]}`}
            {entry.countedParts !== null && `: ${formatCount(entry.countedParts)} parts counted`}
            {entry.text !== '' && `: ${entry.text}`} (
            {entry.personId === null
              ? 'Runtrue'
              : (peopleById.value.get(entry.personId)?.name ?? entry.personId)}
            {entry.secondPersonId !== null &&
              ` and ${peopleById.value.get(entry.secondPersonId)?.name ?? entry.secondPersonId}`}
            )
          </li>
        ))}
      </ol>
    </section>
  );
}

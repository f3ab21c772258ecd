import { useSignal, useSignalEffect } from '@preact/signals';
import { useEffect, useRef } from 'preact/hooks';
import type { CountedParts, Problem, Reading, SampleAnswer, StationTask } from '../../api/schemas.ts';
import { Refusal } from '../client.ts';
import { formatTime } from '../format.ts';
import { serverNow } from '../live.ts';
import { characteristicOf, modelName, streamTitle } from '../names.ts';
import { newId } from '../new-id.ts';
import type { NewSample } from '../offline/outbox.ts';
import { outbox } from '../offline/sample-outbox.ts';
import { plansByStreamId, utcOffsetMinutes } from '../plant.ts';
import { actingPersonId, personIsNamed } from '../session.ts';
import { Notice } from '../ui/Notice.tsx';
import { ProblemNotice, wrongAt } from '../ui/ProblemNotice.tsx';
import { CountForm } from './CountForm.tsx';
import { DrawingPanel } from './DrawingPanel.tsx';
import { draftOf, dropDraft, keepDraft } from './drafts.ts';
import { emptyEntry, goTo, hasMeasuredPiece, isComplete, isUntouched, readingsOf } from './entry.ts';
import { KeypadToggle } from './Keypad.tsx';
import { ReadingsForm } from './ReadingsForm.tsx';
import { RecentSamples } from './RecentSamples.tsx';

/** After this long without an answer the screen says that the values are safe and the server is slow. */
const SLOW_MILLISECONDS = 1_500;

type Values = { readonly readings: Reading[] } | { readonly count: CountedParts };

/** Enter one sample, from the first digit to the verdict. */
export function SamplePage({
  task,
  lot,
  back,
  correct,
  stored,
  waiting,
}: {
  task: StationTask;
  lot: string | null;
  back: () => void;
  correct: (sampleId: string) => void;
  stored: (answer: SampleAnswer, enteredAt: number) => void;
  waiting: (sample: NewSample) => void;
}) {
  const characteristic = characteristicOf(task.streamId)!;
  const plan = plansByStreamId.value.get(task.streamId)!;
  const draft = useRef(draftOf(task));
  // A changeover while values are typed must not move them to another model.
  const modelId = useRef(task.modelId!).current;
  const sampleId = useRef(draft.current?.sampleId ?? newId()).current;
  const startedAt = useRef(draft.current?.startedAt ?? serverNow());
  const entry = useSignal(
    draft.current?.entry ?? emptyEntry(characteristic.kind === 'count' ? 0 : plan.sampleSize),
  );
  const sending = useSignal(false);
  const slow = useSignal(false);
  const refusal = useSignal<Error | null>(null);
  const focusRequest = useSignal(0);
  /** Complete, and waiting for somebody to say who they are. */
  const unsigned = useRef<{ values: Values; enteredAt: number } | null>(null);

  useSignalEffect(() => {
    const current = entry.value;
    if (sending.peek()) return;
    if (isUntouched(current)) startedAt.current = serverNow();
    keepDraft(task.streamId, { sampleId, modelId, entry: current, startedAt: startedAt.current });
  });
  useSignalEffect(() => {
    if (actingPersonId.value === null || unsigned.current === null) return;
    const { values } = unsigned.current;
    unsigned.current = null;
    send(values, performance.now());
  });
  useEffect(() => {
    const leave = (event: KeyboardEvent) => {
      if (event.key === 'Escape' && document.querySelector('dialog[open]') === null) back();
    };
    addEventListener('keydown', leave);
    return () => removeEventListener('keydown', leave);
  }, []);

  const send = async (values: Values, enteredAt: number) => {
    if (sending.value) return;
    if (!personIsNamed()) {
      unsigned.current = { values, enteredAt };
      return;
    }
    performance.mark('runtrue-last-enter', { startTime: enteredAt });
    sending.value = true;
    refusal.value = null;
    const patience = setTimeout(() => {
      slow.value = true;
    }, SLOW_MILLISECONDS);
    const sample: NewSample = {
      submission: {
        id: sampleId,
        streamId: task.streamId,
        modelId,
        takenAt: new Date(serverNow()).toISOString(),
        unit: characteristic.unit,
        lot,
        ...values,
      },
      personId: actingPersonId.value!,
      title: streamTitle(task.streamId),
    };
    const delivery = outbox.submit(sample);
    dropDraft(task.streamId);
    const result = await delivery;
    clearTimeout(patience);
    slow.value = false;
    if (result.kind === 'stored') return stored(result.answer, enteredAt);
    if (result.kind === 'waiting') return waiting(sample);
    sending.value = false;
    refusal.value = new Refusal(result.problem);
    entry.value = goTo(entry.value, positionOf(result.problem) ?? entry.value.fields.length - 1);
    focusRequest.value++;
  };

  const sendReadings = (enteredAt: number) => {
    if (hasMeasuredPiece(entry.value)) {
      send({ readings: readingsOf(entry.value) }, enteredAt);
      return;
    }
    refusal.value = new Error(
      'No piece of this sample could be measured. Go back to the list; once it is missed, say why.',
    );
  };

  const wrongAtPosition = (position: number) =>
    wrongAt(refusal.value, `readings.${position}.value`) ?? wrongAt(refusal.value, `readings.${position}`);
  const shownFields = ['count.inspected', 'count.nonconforming', 'inspected', 'nonconforming'].concat(
    entry.value.fields.flatMap((_, position) => [`readings.${position}`, `readings.${position}.value`]),
  );
  const drawing = <DrawingPanel characteristic={characteristic} modelId={modelId} />;
  const recent = <RecentSamples samples={task.recent} characteristic={characteristic} correct={correct} />;
  return (
    <>
      <div class="station-title">
        <h1>{streamTitle(task.streamId)}</h1>
        <p>
          {modelName(modelId)}
          {characteristic.gauge !== '' && `, ${characteristic.gauge}`}
        </p>
        <div class="station-title-actions">
          <KeypadToggle />
          <button type="button" class="station-plain" onClick={back}>
            Back to the list
          </button>
        </div>
      </div>
      {plan.remark !== '' && <p class="station-remark">{plan.remark}</p>}
      {task.modelId !== modelId && (
        <Notice
          kind="ask"
          title={`The line now runs ${task.modelId === null ? 'another model' : modelName(task.modelId)}`}
        >
          <p>This sample is recorded for {modelName(modelId)}, which ran when you began it.</p>
        </Notice>
      )}
      {draft.current !== null && (
        <p class="station-remark">
          Begun {formatTime(draft.current.startedAt, utcOffsetMinutes.value)}, not yet sent.{' '}
          <button
            type="button"
            class="station-plain"
            onClick={() => {
              if (!confirm('Take all typed values away and begin again?')) return;
              dropDraft(task.streamId);
              back();
            }}
          >
            Begin again
          </button>
        </p>
      )}
      {characteristic.kind === 'count' ? (
        <CountForm
          planned={plan.sampleSize}
          drawing={drawing}
          error={refusal.value}
          done={(count, enteredAt) => send({ count }, enteredAt)}
        >
          {recent}
        </CountForm>
      ) : (
        <ReadingsForm
          entry={entry}
          modelId={modelId}
          drawing={drawing}
          characteristic={characteristic}
          expectation={task.modelId === modelId ? task.expectation : null}
          wrongAtPosition={wrongAtPosition}
          focusRequest={focusRequest.value}
          done={sendReadings}
        >
          {recent}
        </ReadingsForm>
      )}
      {characteristic.kind === 'variable' && isComplete(entry.value) && (
        <button
          type="button"
          class="main station-send"
          disabled={sending.value}
          onClick={() => sendReadings(performance.now())}
        >
          Send
        </button>
      )}
      {slow.value && (
        <Notice kind="ask" title="No answer yet">
          <p>The values are kept on this device and are being sent.</p>
        </Notice>
      )}
      <ProblemNotice error={refusal.value} shownFields={shownFields} />
    </>
  );
}

/** The reading that the server's answer is about. */
function positionOf(problem: Problem): number | null {
  const field = problem.errors.map((error) => /readings\.(\d+)/.exec(error.field)?.[1]).find(Boolean);
  return field === undefined ? null : Number(field);
}

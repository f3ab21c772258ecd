import { useSignal } from '@preact/signals';
import { useEffect, useRef } from 'preact/hooks';
import type { CountedParts, SampleAnswer, SampleHistory, StationTask } from '../../api/schemas.ts';
import { call } from '../client.ts';
import { formatDateTime } from '../format.ts';
import { serverNow } from '../live.ts';
import { characteristicOf, modelName, streamTitle } from '../names.ts';
import { newId } from '../new-id.ts';
import { stationsById, streamsById, utcOffsetMinutes } from '../plant.ts';
import { personIsNamed } from '../session.ts';
import { Field } from '../ui/Field.tsx';
import { ProblemNotice, wrongAt } from '../ui/ProblemNotice.tsx';
import { CountForm } from './CountForm.tsx';
import { DrawingPanel } from './DrawingPanel.tsx';
import { emptyEntry, entryOfReadings, isComplete, readingsOf } from './entry.ts';
import { KeypadToggle } from './Keypad.tsx';
import { ReadingsForm } from './ReadingsForm.tsx';
import { Revisions } from './Revisions.tsx';

const usualReasons = ['Typed wrong', 'Gauge read wrong', 'Measured again'] as const;

/** Values are corrected by a new record with a reason and a name; the old ones stay and are shown. */
export function CorrectionPage({
  sampleId,
  expectation,
  expectedModelId,
  measuredAgain,
  positions,
  back,
  sameAgain,
  stored,
}: {
  sampleId: string;
  expectation: StationTask['expectation'];
  /** The model that `expectation` is about. */
  expectedModelId: string | null;
  measuredAgain: boolean;
  positions: readonly number[];
  back: () => void;
  /** Measured again, with the same result. */
  sameAgain: () => void;
  stored: (answer: SampleAnswer, enteredAt: number) => void;
}) {
  const id = useRef(newId());
  const history = useSignal<SampleHistory | null>(null);
  const entry = useSignal(emptyEntry(0));
  const count = useSignal<CountedParts | null>(null);
  const other = useSignal('');
  const problem = useSignal<Error | null>(null);
  const busy = useSignal(false);
  const reasons = useRef<HTMLFieldSetElement>(null);

  useEffect(() => {
    call('GET /api/samples/{id}', { params: { id: sampleId } }).then(
      (read) => {
        entry.value = entryOfReadings(read.sample.readings ?? [], positions[0] ?? 0);
        count.value = read.sample.count;
        history.value = read;
      },
      (error: Error) => {
        problem.value = error;
      },
    );
  }, []);

  if (history.value === null)
    return (
      <>
        <ProblemNotice error={problem.value} />
        {problem.value === null && <p role="status">Reading the sample…</p>}
        <button type="button" onClick={back}>
          Back to the list
        </button>
      </>
    );

  const { sample } = history.value;
  const characteristic = characteristicOf(sample.streamId)!;
  const toReasons = () => reasons.current?.querySelector('button')?.focus();
  const readings = readingsOf(entry.value);
  const unchanged =
    sample.count === null
      ? JSON.stringify(readings) === JSON.stringify(sample.readings)
      : count.value?.inspected === sample.count.inspected &&
        count.value.nonconforming === sample.count.nonconforming;

  /** There is nothing to correct, but that the values were checked is worth knowing. */
  const noteSameAgain = async () => {
    const station = stationsById.value.get(streamsById.value.get(sample.streamId)?.stationId ?? '');
    if (station === undefined) return;
    const taken = formatDateTime(sample.takenAt, utcOffsetMinutes.value);
    busy.value = true;
    try {
      await call('POST /api/events', {
        body: {
          id: id.current,
          lineId: station.lineId,
          stationId: station.id,
          streamId: sample.streamId,
          kind: 'note',
          at: new Date(serverNow()).toISOString(),
          until: null,
          modelId: null,
          lot: null,
          text: `The sample of ${taken} was measured again, with the same values.`,
        },
      });
      sameAgain();
    } catch (error) {
      problem.value = error as Error;
    } finally {
      busy.value = false;
    }
  };

  const record = async (reason: string) => {
    if (busy.value || !personIsNamed()) return;
    if (!isComplete(entry.value)) {
      problem.value = new Error('A question about a value is open. Answer it first.');
      return;
    }
    if (unchanged) {
      if (measuredAgain && reason === 'Measured again') await noteSameAgain();
      else problem.value = new Error('No value is changed yet. Type the right one and press Enter.');
      return;
    }
    const enteredAt = performance.now();
    busy.value = true;
    try {
      const answer = await call('POST /api/samples/{id}/corrections', {
        params: { id: sampleId },
        body: {
          id: id.current,
          revision: sample.revision,
          reason,
          ...(sample.count === null ? { readings } : { count: count.value! }),
        },
      });
      stored(answer, enteredAt);
    } catch (error) {
      problem.value = error as Error;
    } finally {
      busy.value = false;
    }
  };

  const drawing = <DrawingPanel characteristic={characteristic} modelId={sample.modelId} />;
  const revisions = <Revisions history={history.value} characteristic={characteristic} />;
  return (
    <>
      <div class="station-title">
        <h1>{measuredAgain ? 'Measure the same pieces again' : 'Correct a sample'}</h1>
        <p>
          {streamTitle(sample.streamId)}, {modelName(sample.modelId)}, taken{' '}
          {formatDateTime(sample.takenAt, utcOffsetMinutes.value)}
        </p>
        <div class="station-title-actions">
          <KeypadToggle />
          <button type="button" class="station-plain" onClick={back}>
            Back to the list
          </button>
        </div>
      </div>
      <p>Type over what is wrong, Enter on what is right. Then say why: both values stay in the record.</p>
      {sample.count === null ? (
        <ReadingsForm
          entry={entry}
          modelId={sample.modelId}
          drawing={drawing}
          characteristic={characteristic}
          expectation={expectedModelId === sample.modelId ? expectation : null}
          wrongAtPosition={(position) => wrongAt(problem.value, `readings.${position}.value`)}
          focusRequest={0}
          done={toReasons}
        >
          {revisions}
        </ReadingsForm>
      ) : (
        <CountForm
          planned={sample.count.inspected}
          drawing={drawing}
          given={sample.count}
          error={problem.value}
          done={(typed) => {
            count.value = typed;
            toReasons();
          }}
        >
          {revisions}
        </CountForm>
      )}
      <fieldset class="station-reasons" ref={reasons}>
        <legend>Why is it changed?</legend>
        <div class="station-answers">
          {(measuredAgain ? [...usualReasons].reverse() : usualReasons).map((reason) => (
            <button key={reason} type="button" disabled={busy.value} onClick={() => record(reason)}>
              {reason}
            </button>
          ))}
        </div>
        <form
          class="station-other"
          onSubmit={(event) => {
            event.preventDefault();
            record(other.value);
          }}
        >
          <Field label="Another reason" wrong={wrongAt(problem.value, 'reason')}>
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
            Record with this reason
          </button>
        </form>
      </fieldset>
      <ProblemNotice error={problem.value} shownFields={['reason']} />
    </>
  );
}

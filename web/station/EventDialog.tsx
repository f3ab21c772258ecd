import { useSignal } from '@preact/signals';
import { useEffect, useRef } from 'preact/hooks';
import type { EventKind, Station, StationWork } from '../../api/schemas.ts';
import { call } from '../client.ts';
import { formatTime } from '../format.ts';
import { serverNow, tickingNow } from '../live.ts';
import { streamTitle } from '../names.ts';
import { newId } from '../new-id.ts';
import { plantModel, utcOffsetMinutes } from '../plant.ts';
import { personIsNamed } from '../session.ts';
import { Field } from '../ui/Field.tsx';
import { Notice } from '../ui/Notice.tsx';
import { ProblemNotice, wrongAt } from '../ui/ProblemNotice.tsx';
import { eventWords } from './event-words.ts';
import { dayInWords, isLikelySlip, lastTimeOfDay, slipQuestion } from './plant-clock.ts';

/** Records what happened on the line: the charts show it, and a suspect window may start or end there. */
export function EventDialog({
  kind,
  station,
  work,
  recorded,
  close,
}: {
  kind: EventKind;
  station: Station;
  work: StationWork;
  recorded: () => void;
  close: () => void;
}) {
  const dialog = useRef<HTMLDialogElement>(null);
  const id = useRef(newId());
  const modelId = useSignal<string | null>(null);
  const lot = useSignal('');
  const streamId = useSignal('');
  const text = useSignal('');
  const at = useSignal(formatTime(serverNow(), utcOffsetMinutes.value));
  const atUntouched = useRef(true);
  const until = useSignal('');
  const wrongTime = useSignal<{ at: string | null; until: string | null }>({ at: null, until: null });
  /** Set while the dialog asks whether a time that is still to come today was yesterday's. */
  const slips = useSignal<readonly string[]>([]);
  const problem = useSignal<Error | null>(null);
  const busy = useSignal(false);
  useEffect(() => dialog.current?.showModal(), []);

  const words = eventWords[kind];
  const forOneStream = kind !== 'changeover' && kind !== 'coil' && kind !== 'stoppage';
  const textNeeded = kind === 'adjustment' || kind === 'gauge check' || kind === 'note';

  const timeHint = (text: string, otherwise: string): string =>
    dayInWords(text, tickingNow.value, utcOffsetMinutes.value) ?? otherwise;

  const record = async (yesterdayMeant: boolean) => {
    if (busy.value || !personIsNamed()) return;
    const now = serverNow();
    const startedAt = atUntouched.current ? now : lastTimeOfDay(at.value, now, utcOffsetMinutes.value);
    const endedAt = until.value === '' ? null : lastTimeOfDay(until.value, now, utcOffsetMinutes.value);
    const endsEarly = startedAt !== null && endedAt !== null && endedAt < startedAt;
    wrongTime.value = {
      at: startedAt === null ? 'Write hh:mm.' : null,
      until:
        until.value !== '' && endedAt === null
          ? 'Write hh:mm.'
          : endsEarly
            ? 'The line cannot run again before it stood.'
            : null,
    };
    if (startedAt === null || wrongTime.value.until !== null) {
      slips.value = [];
      return;
    }
    const doubtful = [startedAt, endedAt].filter(
      (time) => time !== null && isLikelySlip(time, now, utcOffsetMinutes.value),
    ) as number[];
    slips.value = yesterdayMeant
      ? []
      : doubtful.map((time) => slipQuestion(time, now, utcOffsetMinutes.value));
    if (slips.value.length > 0) return;
    busy.value = true;
    try {
      await call('POST /api/events', {
        body: {
          id: id.current,
          lineId: work.lineId,
          stationId: forOneStream ? station.id : null,
          streamId: streamId.value || null,
          kind,
          at: new Date(startedAt).toISOString(),
          until: endedAt === null ? null : new Date(endedAt).toISOString(),
          modelId: kind === 'changeover' ? modelId.value : null,
          lot: kind === 'coil' ? lot.value.trim() : null,
          text: text.value,
        },
      });
      recorded();
      dialog.current?.close();
    } catch (error) {
      problem.value = error as Error;
    } finally {
      busy.value = false;
    }
  };

  return (
    <dialog ref={dialog} class="station-dialog" aria-labelledby="event-title" onClose={close}>
      <form
        class="stack"
        onSubmit={(event) => {
          event.preventDefault();
          record(false);
        }}
      >
        <h2 id="event-title">{words.question}</h2>
        {kind === 'changeover' && (
          <fieldset class="station-choices">
            <legend>Part model</legend>
            {(plantModel.value?.models ?? []).map((model) => (
              <label key={model.id} class="station-choice">
                <input
                  type="radio"
                  name="model"
                  value={model.id}
                  required
                  checked={modelId.value === model.id}
                  onChange={() => {
                    modelId.value = model.id;
                  }}
                />
                <span>
                  {model.name}
                  {model.id === work.runningModelId && ' (runs now)'}
                </span>
              </label>
            ))}
          </fieldset>
        )}
        {kind === 'coil' && (
          <Field label="Coil lot" wrong={wrongAt(problem.value, 'lot')}>
            <input
              required
              maxLength={64}
              autoComplete="off"
              value={lot.value}
              onInput={(event) => {
                lot.value = event.currentTarget.value;
              }}
            />
          </Field>
        )}
        {forOneStream && work.tasks.length > 1 && (
          <Field label="Concerns">
            <select
              value={streamId.value}
              onChange={(event) => {
                streamId.value = event.currentTarget.value;
              }}
            >
              <option value="">everything at this station</option>
              {work.tasks.map((task) => (
                <option key={task.streamId} value={task.streamId}>
                  {streamTitle(task.streamId)}
                </option>
              ))}
            </select>
          </Field>
        )}
        <div class="row">
          <Field
            label={kind === 'stoppage' ? 'Stands since' : 'At'}
            hint={timeHint(at.value, 'hh:mm')}
            wrong={wrongTime.value.at}
          >
            <input
              inputMode="numeric"
              autoComplete="off"
              required
              value={at.value}
              onInput={(event) => {
                at.value = event.currentTarget.value;
                atUntouched.current = false;
                slips.value = [];
              }}
            />
          </Field>
          {kind === 'stoppage' && (
            <Field
              label="Runs again since"
              hint={timeHint(until.value, 'hh:mm; empty while it stands')}
              wrong={wrongTime.value.until ?? wrongAt(problem.value, 'until')}
            >
              <input
                inputMode="numeric"
                autoComplete="off"
                value={until.value}
                onInput={(event) => {
                  until.value = event.currentTarget.value;
                  slips.value = [];
                }}
              />
            </Field>
          )}
        </div>
        <Field
          label={textNeeded ? 'In words' : 'In words, if you like'}
          hint={words.hint}
          wrong={wrongAt(problem.value, 'text')}
        >
          <input
            required={textNeeded}
            maxLength={2000}
            value={text.value}
            onInput={(event) => {
              text.value = event.currentTarget.value;
            }}
          />
        </Field>
        {slips.value.length > 0 && (
          <Notice kind="ask" title="Is the time right?" live="assertive">
            {slips.value.map((question) => (
              <p key={question}>{question}</p>
            ))}
            <button type="button" disabled={busy.value} onClick={() => record(true)}>
              It was yesterday: record
            </button>
          </Notice>
        )}
        <ProblemNotice error={problem.value} shownFields={['lot', 'text', 'until']} />
        <div class="row">
          <button type="submit" class="main" disabled={busy.value}>
            Record
          </button>
          <button type="button" onClick={() => dialog.current?.close()}>
            Back
          </button>
        </div>
      </form>
    </dialog>
  );
}

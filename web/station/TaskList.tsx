import { useSignal } from '@preact/signals';
import { useEffect, useRef } from 'preact/hooks';
import { formatTime } from '../format.ts';
import { streamTitle } from '../names.ts';
import { whyNot } from '../permissions.ts';
import { utcOffsetMinutes } from '../plant.ts';
import { MissedDialog } from './MissedDialog.tsx';
import { TaskCard } from './TaskCard.tsx';
import { type MissedSamples, missedSamples, type OrderedTask } from './task-order.ts';

/** What to measure at this station, the most urgent first, and what was missed. */
export function TaskList({
  ordered,
  open,
  declared,
  runs,
}: {
  ordered: readonly OrderedTask[];
  open: (streamId: string) => void;
  declared: () => void;
  /** false: nobody has said which model runs. */
  runs: boolean;
}) {
  const list = useRef<HTMLOListElement>(null);
  const asked = useSignal<MissedSamples | null>(null);
  // Enter opens the first task, on arriving and on coming back from a sample.
  useEffect(() => {
    list.current?.querySelector<HTMLElement>('button:not(:disabled)')?.focus();
  }, []);
  const refusal = whyNot('enter samples');
  const missed = missedSamples(ordered.map(({ task }) => task));
  const waiting = ordered.filter(({ urgency }) => urgency === 'late' || urgency === 'due').length;
  return (
    <>
      <h2 class="station-tasks-title">
        <span role="status">{headline(waiting, ordered)}</span>
      </h2>
      {refusal !== null && <p>{refusal}</p>}
      <ol class="station-tasks" ref={list}>
        {ordered.map((item) => (
          <TaskCard key={item.task.streamId} item={item} open={open} mayMeasure={runs && refusal === null} />
        ))}
      </ol>
      {missed.length > 0 && (
        <section aria-labelledby="missed-title">
          <h2 id="missed-title">Missed, with no reason yet</h2>
          <p>An honest gap is worth more than an invented value. Say why; nobody is blamed.</p>
          <ul class="station-missed">
            {missed.map((samples) => (
              <li key={samples.streamId}>
                <span>
                  <span aria-hidden="true">✕ </span>
                  <strong>{streamTitle(samples.streamId)}</strong>, was due{' '}
                  {samples.dueAt.map((time) => formatTime(time, utcOffsetMinutes.value)).join(', ')}
                </span>
                {whyNot('declare missed samples') === null && (
                  <button
                    type="button"
                    onClick={() => {
                      asked.value = samples;
                    }}
                  >
                    Say why<span class="visually-hidden"> {streamTitle(samples.streamId)} was missed</span>
                  </button>
                )}
              </li>
            ))}
          </ul>
        </section>
      )}
      {asked.value !== null && (
        <MissedDialog
          key={asked.value.streamId}
          missed={asked.value}
          declared={declared}
          close={() => {
            asked.value = null;
          }}
        />
      )}
    </>
  );
}

function headline(waiting: number, ordered: readonly OrderedTask[]): string {
  if (ordered.length === 0) return 'Nothing is planned to be measured at this station';
  if (waiting === 0) return 'Nothing is due now';
  return waiting === 1 ? '1 sample to take now' : `${waiting} samples to take now`;
}

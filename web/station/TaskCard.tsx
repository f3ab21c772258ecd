import { formatDuration, formatTime } from '../format.ts';
import { tickingNow } from '../live.ts';
import { characteristicOf, modelName, streamTitle } from '../names.ts';
import { plansByStreamId, utcOffsetMinutes } from '../plant.ts';
import { draftProgress } from './drafts.ts';
import type { OrderedTask, Urgency } from './task-order.ts';

/** Each state has a word and a shape; colour only repeats them. */
const urgencyWords: Record<Urgency, { word: string; shape: string }> = {
  late: { word: 'Late', shape: '◔' },
  due: { word: 'Due now', shape: '●' },
  upcoming: { word: 'Later', shape: '○' },
  done: { word: 'Done for today', shape: '✓' },
  unplanned: { word: 'No plan', shape: '–' },
};

export function TaskCard({
  item,
  open,
  mayMeasure,
}: {
  item: OrderedTask;
  open: (streamId: string) => void;
  mayMeasure: boolean;
}) {
  const { task, urgency } = item;
  const characteristic = characteristicOf(task.streamId);
  const plan = plansByStreamId.value.get(task.streamId);
  if (!characteristic) return null;
  const { word, shape } = urgencyWords[urgency];
  const takeNow = urgency === 'late' || urgency === 'due';
  const typed = draftProgress(task);
  return (
    <li class={`station-task ${urgency}`} data-stream={task.streamId} data-urgency={urgency}>
      <p class="station-state">
        <span class="station-shape" aria-hidden="true">
          {shape}
        </span>
        <strong>{word}</strong>
        <span>{timing(item)}</span>
      </p>
      <div class="station-what">
        <h3>{streamTitle(task.streamId)}</h3>
        {task.modelId !== null && <p>{modelName(task.modelId)}</p>}
        <p class="station-how">
          {plan &&
            (characteristic.kind === 'count'
              ? `${plan.sampleSize} parts inspected`
              : `${plan.sampleSize} ${plan.sampleSize === 1 ? 'piece' : 'pieces'}`)}
          {characteristic.gauge !== '' && `, ${characteristic.gauge}`}
        </p>
        {typed !== null && <p>✎ {typed}</p>}
        {task.openAlarmId !== null && (
          <p class="station-alarm">
            <span aria-hidden="true">▲ </span>
            <a href={`/floor?alarm=${task.openAlarmId}`}>Alarm {task.openAlarmId} is open</a>
          </p>
        )}
      </div>
      <button
        type="button"
        class={takeNow ? 'main' : ''}
        disabled={!mayMeasure || !plan}
        onClick={() => open(task.streamId)}
      >
        {typed === null ? 'Measure' : 'Go on'}
        <span class="visually-hidden"> {streamTitle(task.streamId)}</span>
      </button>
    </li>
  );
}

function timing({ urgency, dueAt, firstPiece }: OrderedTask): string {
  if (dueAt === null) return firstPiece ? 'for the first piece' : '';
  const time = formatTime(dueAt, utcOffsetMinutes.value);
  const distance = tickingNow.value - Date.parse(dueAt);
  if (urgency === 'upcoming') return `${time}, in ${formatDuration(-distance)}`;
  return `since ${time}, ${formatDuration(distance)}`;
}

import type { Alarm } from '../../api/schemas.ts';
import { formatDateTime, formatDuration } from '../format.ts';
import { tickingNow } from '../live.ts';
import { modelName, placeOf, streamTitle } from '../names.ts';
import { utcOffsetMinutes } from '../plant.ts';
import { partsNow } from './part-words.ts';
import { shelvedSentence } from './shelved-sentence.ts';
import { alarmStateWords, decisionWords, severityWords, suspectCount } from './words.ts';

function decided({ decision, decidedBeforeRaisedAgain }: Alarm): string {
  if (decision === null) return 'Nothing decided yet.';
  const words = decisionWords[decision];
  return decidedBeforeRaisedAgain
    ? `It came back after the last decision (${words}): decide anew.`
    : `Decided: ${words}.`;
}

/** One alarm on the board: what, where, since when, how many parts are suspect. */
export function AlarmCard({ alarm, open }: { alarm: Alarm; open: () => void }) {
  const place = placeOf(alarm.streamId);
  const parts = partsNow(alarm);
  const waiting = alarm.acknowledgedAt === null;
  const calls = waiting && alarm.shelved === null;
  return (
    <li class={`alarm-card ${calls ? 'waiting' : ''}`} data-alarm={alarm.id}>
      <div class="alarm-what">
        <h3>
          <span aria-hidden="true">{calls ? '▲' : '△'} </span>
          {streamTitle(alarm.streamId)}
        </h3>
        <p>
          <strong>{severityWords[alarm.severity]}.</strong> {alarm.sentence}
        </p>
        {alarm.shelved !== null && (
          <p>
            <strong>{shelvedSentence(alarm.shelved)}</strong>
          </p>
        )}
        {alarm.nobodyTold && (
          <p>
            <strong>Nobody was told; no rule matched.</strong>
          </p>
        )}
        {parts !== null && (
          <p class={alarm.newest?.outsideSpecification.length ? 'parts-bad' : ''}>{parts}</p>
        )}
        <p class="alarm-facts">
          {place.line}, {place.station}, {modelName(alarm.modelId)}, since{' '}
          <time dateTime={alarm.raisedAt}>{formatDateTime(alarm.raisedAt, utcOffsetMinutes.value)}</time> (
          {formatDuration(tickingNow.value - Date.parse(alarm.raisedAt))}). {alarmStateWords[alarm.state]}
          {alarm.state === 'returned-to-normal' && waiting ? ', nobody has acknowledged' : ''}.{' '}
          {decided(alarm)}
        </p>
      </div>
      <p class="alarm-count">
        <strong>{suspectCount(alarm.containment)}</strong> parts suspect
      </p>
      <button type="button" class={calls ? 'main' : ''} onClick={open}>
        Open
        <span class="visually-hidden">
          {' '}
          alarm {alarm.id}, {streamTitle(alarm.streamId)}
        </span>
      </button>
    </li>
  );
}

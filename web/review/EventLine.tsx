import type { PlantEvent } from '../../api/schemas.ts';
import type { VisibleRange } from '../charts/visible-range.ts';
import { formatDateTime } from '../format.ts';
import { utcOffsetMinutes } from '../plant.ts';
import { eventMarks, tellingKind } from './event-line.ts';
import { eventSymbols } from './words.ts';

/** What happened at the line, under the points that it may explain. */
export function EventLine({
  events,
  times,
  range,
  width,
  choose,
}: {
  events: readonly PlantEvent[];
  times: readonly number[];
  range: VisibleRange;
  width: number;
  choose: (index: number) => void;
}) {
  const marks = eventMarks(events, times, range, width);
  if (marks.length === 0) return null;
  return (
    <ul class="event-line" aria-label="Events at the line">
      {marks.map((mark) => (
        <li key={mark.events[0]!.id} style={{ left: `${mark.left}px` }}>
          <button type="button" title={crowdSentence(mark.events, '\n')} onClick={() => choose(mark.index)}>
            {eventSymbols[tellingKind(mark.events)]}
            {mark.events.length > 1 && ` ${mark.events.length}`}
            <span class="visually-hidden">{crowdSentence(mark.events, '; ')}</span>
          </button>
        </li>
      ))}
    </ul>
  );
}

/** What the marks stand for. */
export function EventKey({ events }: { events: readonly PlantEvent[] }) {
  const kinds = [...new Set(events.map((event) => event.kind))];
  if (kinds.length === 0) return null;
  return (
    <ul class="event-key" aria-label="Marks of events">
      {kinds.map((kind) => (
        <li key={kind}>
          <span aria-hidden="true">{eventSymbols[kind]}</span> {kind}
        </li>
      ))}
      <li>with a number: so many events close together</li>
    </ul>
  );
}

/** More sentences than this nobody hears to the end. */
const MOST_SENTENCES = 4;

/** A few events in full; of a crowd, how many of each kind and between when. */
function crowdSentence(events: readonly PlantEvent[], separator: string): string {
  if (events.length <= MOST_SENTENCES) return events.map(eventSentence).join(separator);
  const counts = new Map<string, number>();
  for (const { kind } of events) counts.set(kind, (counts.get(kind) ?? 0) + 1);
  const written = [...counts].map(([kind, count]) => `${count} × ${kind}`).join(', ');
  const time = (event: PlantEvent): string => formatDateTime(event.at, utcOffsetMinutes.value);
  return `${time(events[0]!)} to ${time(events.at(-1)!)}: ${written}. Zoom in to see each.`;
}

/** One event on one line: when, what, which coil or model, what was noted. */
export function eventSentence(event: PlantEvent): string {
  const until =
    event.until === null ? '' : ` until ${formatDateTime(event.until, utcOffsetMinutes.value).slice(11)}`;
  const what = [event.kind, event.lot ?? event.modelId ?? ''].filter(Boolean).join(' ');
  return `${formatDateTime(event.at, utcOffsetMinutes.value)}${until} ${what}${event.text === '' ? '' : `: ${event.text}`}`;
}

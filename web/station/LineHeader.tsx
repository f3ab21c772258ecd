import { useSignal } from '@preact/signals';
import type { EventKind, Station, StationWork } from '../../api/schemas.ts';
import { modelName } from '../names.ts';
import { whyNot } from '../permissions.ts';
import { linesById } from '../plant.ts';
import { RestartsOfLine } from '../restarts/RestartsOfLine.tsx';
import { chosenStationId } from '../session.ts';
import { Notice } from '../ui/Notice.tsx';
import { EventDialog } from './EventDialog.tsx';
import { eventWords } from './event-words.ts';
import { OpenStoppages } from './OpenStoppages.tsx';

const furtherKinds: readonly EventKind[] = [
  'tool change',
  'regrind',
  'adjustment',
  'stoppage',
  'gauge check',
  'note',
];

/** Where am I, what runs here, and what has just happened on the line? */
export function LineHeader({
  station,
  work,
  recorded,
}: {
  station: Station;
  work: StationWork;
  recorded: () => void;
}) {
  const asked = useSignal<EventKind | null>(null);
  const line = linesById.value.get(work.lineId);
  const button = (kind: EventKind) => (
    <button
      key={kind}
      type="button"
      onClick={() => {
        asked.value = kind;
      }}
    >
      {eventWords[kind].button}
    </button>
  );
  return (
    <header class="station-line">
      <div class="station-where">
        <h1>{station.name}</h1>
        <span>{line?.name}</span>
        <button
          type="button"
          class="station-plain"
          onClick={() => {
            chosenStationId.value = null;
            history.replaceState(null, '', location.pathname);
          }}
        >
          Another station
        </button>
      </div>
      <dl class="station-runs">
        <div>
          <dt>Runs now</dt>
          <dd>{work.runningModelId === null ? 'not known' : modelName(work.runningModelId)}</dd>
        </div>
        <div>
          <dt>Coil lot</dt>
          <dd>{work.lot ?? 'not known'}</dd>
        </div>
      </dl>
      {whyNot('record events') === null && (
        <div class="station-events">
          {button('changeover')}
          {button('coil')}
          <details>
            <summary class="button">More to record</summary>
            <div class="station-events">{furtherKinds.map(button)}</div>
          </details>
        </div>
      )}
      <OpenStoppages lineId={work.lineId} ended={recorded} />
      <RestartsOfLine lineId={work.lineId} />
      {work.runningModelId === null && (
        <Notice kind="ask" title="Which model runs on this line?">
          <p>Record the changeover to it. Then samples can be entered and judged.</p>
        </Notice>
      )}
      {asked.value !== null && (
        <EventDialog
          key={asked.value}
          kind={asked.value}
          station={station}
          work={work}
          recorded={recorded}
          close={() => {
            asked.value = null;
          }}
        />
      )}
    </header>
  );
}

import { useSignal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import type { PlantEvent } from '../../api/schemas.ts';
import { call } from '../client.ts';
import { formatDateTime } from '../format.ts';
import { onChange, serverNow } from '../live.ts';
import { whyNot } from '../permissions.ts';
import { utcOffsetMinutes } from '../plant.ts';
import { personIsNamed } from '../session.ts';
import { Notice } from '../ui/Notice.tsx';
import { ProblemNotice } from '../ui/ProblemNotice.tsx';

/** A stoppage still open after this long was forgotten; Review shows it on the time line. */
const LOOK_BACK_MILLISECONDS = 7 * 86_400_000;

/** Stoppages of the line that nobody has ended yet: while one lasts, no sample is due. */
export function OpenStoppages({ lineId, ended }: { lineId: string; ended: () => void }) {
  const stoppages = useSignal<readonly PlantEvent[]>([]);
  const problem = useSignal<Error | null>(null);
  const busy = useSignal(false);

  useEffect(() => {
    const refresh = () => {
      const now = serverNow();
      const from = new Date(now - LOOK_BACK_MILLISECONDS).toISOString();
      const to = new Date(now + 60_000).toISOString();
      call('GET /api/events', { query: { lineId, from, to } }).then(
        (events) => {
          stoppages.value = events.filter(({ kind, until }) => kind === 'stoppage' && until === null);
        },
        () => {
          // The connection notice of the page says it; the next change fetches again.
        },
      );
    };
    refresh();
    return onChange((change) => {
      if (change === null || (change.kind === 'event' && change.lineId === lineId)) refresh();
    });
  }, [lineId]);

  const runsAgain = async (stoppage: PlantEvent) => {
    if (busy.value || !personIsNamed()) return;
    busy.value = true;
    const { id, stationId, streamId, kind, at, modelId, lot, text } = stoppage;
    const until = new Date(serverNow()).toISOString();
    try {
      await call('POST /api/events', {
        body: { id, lineId, stationId, streamId, kind, at, until, modelId, lot, text },
      });
      stoppages.value = stoppages.value.filter((other) => other.id !== id);
      problem.value = null;
      ended();
    } catch (error) {
      problem.value = error as Error;
    } finally {
      busy.value = false;
    }
  };

  if (stoppages.value.length === 0) return null;
  return (
    <>
      {stoppages.value.map((stoppage) => (
        <Notice
          key={stoppage.id}
          kind="ask"
          title={`The line stands since ${formatDateTime(stoppage.at, utcOffsetMinutes.value)}`}
        >
          {stoppage.text !== '' && <p>{stoppage.text}</p>}
          {whyNot('record events') === null && (
            <button type="button" disabled={busy.value} onClick={() => runsAgain(stoppage)}>
              It runs again now
            </button>
          )}
        </Notice>
      ))}
      <ProblemNotice error={problem.value} />
    </>
  );
}

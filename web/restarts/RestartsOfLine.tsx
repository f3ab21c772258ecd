import { useSignal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import type { Change, Restart, RestartDetail } from '../../api/schemas.ts';
import { call } from '../client.ts';
import { onChange } from '../live.ts';
import { dueStreams, firstPieceDue } from './first-piece-due.ts';
import { Restarts } from './Restarts.tsx';

const MINUTE = 60_000;

/** At a station: what waits for a first piece on its line, and what has to be measured for it. */
export function RestartsOfLine({ lineId }: { lineId: string }) {
  const details = useSignal<readonly RestartDetail[]>([]);

  useEffect(() => {
    let asked = 0;
    const refresh = async () => {
      const mine = ++asked;
      try {
        const open = await call('GET /api/restarts', { query: { lineId } });
        const answers = await Promise.all(
          open.map(({ id }) => call('GET /api/restarts/{id}', { params: { id } })),
        );
        if (mine !== asked) return;
        details.value = answers;
        firstPieceDue.value = dueStreams(answers);
      } catch {
        // The connection notice of the page says it; the next change fetches again.
      }
    };
    const concerns = (change: Change | null): boolean => {
      if (change === null || change.kind === 'plant') return true;
      if (change.kind === 'restart' || change.kind === 'event') return change.lineId === lineId;
      if (change.kind !== 'sample') return false;
      return details.value.some(({ restart }) => isPlanned(restart, change.streamId));
    };
    refresh();
    const stop = onChange((change) => {
      if (concerns(change)) refresh();
    });
    // Hours and parts grow without any message.
    const minute = setInterval(refresh, MINUTE);
    return () => {
      stop();
      clearInterval(minute);
    };
  }, [lineId]);

  return (
    <Restarts
      restarts={details.value.map(({ restart }) => restart)}
      next={new Map(details.value.map(({ restart, next }) => [restart.id, next]))}
    />
  );
}

const isPlanned = ({ plan }: Restart, streamId: string): boolean =>
  plan.some((item) => item.streamId === streamId);

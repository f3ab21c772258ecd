/** What the server says is to be done at a station, kept fresh by its messages and by the clock. */
import type { Signal } from '@preact/signals';
import { useSignal } from '@preact/signals';
import { useEffect, useRef } from 'preact/hooks';
import type { Change, StationWork } from '../../api/schemas.ts';
import { call } from '../client.ts';
import { onChange } from '../live.ts';
import { loadPlant } from '../plant.ts';

/** Changes come in bursts; fetch at most this often for them. */
const QUIET_MILLISECONDS = 300;
/** "Due" turns to "late" without any message. */
const ANYWAY_MILLISECONDS = 20_000;

export interface WorkSource {
  readonly work: Signal<StationWork | null>;
  readonly problem: Signal<Error | null>;
  /** Fetches now; resolves when it is shown. */
  readonly refresh: () => Promise<void>;
}

export function useStationWork(stationId: string): WorkSource {
  const work = useSignal<StationWork | null>(null);
  const problem = useSignal<Error | null>(null);
  const source = useRef<WorkSource | null>(null);
  if (source.current === null) {
    let newest = 0;
    source.current = {
      work,
      problem,
      async refresh() {
        const asked = ++newest;
        try {
          const answer = await call('GET /api/stations/{id}/work', { params: { id: stationId } });
          if (asked !== newest) return;
          work.value = answer;
          problem.value = null;
        } catch (error) {
          if (asked === newest) problem.value = error as Error;
        }
      },
    };
  }
  const { refresh } = source.current;

  useEffect(() => {
    let timer: ReturnType<typeof setTimeout> | null = null;
    const soon = () => {
      timer ??= setTimeout(() => {
        timer = null;
        refresh();
      }, QUIET_MILLISECONDS);
    };
    const concerns = (change: Change | null): boolean => {
      if (change === null || change.kind === 'plant' || change.kind === 'import') return true;
      if (change.kind === 'handover') return false;
      if (change.kind === 'event' || change.kind === 'restart') return change.lineId === work.value?.lineId;
      return work.value?.tasks.some((task) => task.streamId === change.streamId) ?? true;
    };
    refresh();
    const stop = onChange((change) => {
      if (!concerns(change)) return;
      if (change?.kind === 'plant') loadPlant().then(soon, soon);
      else soon();
    });
    const anyway = setInterval(refresh, ANYWAY_MILLISECONDS);
    return () => {
      stop();
      clearInterval(anyway);
      if (timer !== null) clearTimeout(timer);
    };
  }, []);

  return source.current;
}

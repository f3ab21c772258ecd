import { useSignal } from '@preact/signals';
import type { Restart } from '../../api/schemas.ts';
import { tickingNow } from '../live.ts';
import { peopleById, stationsById, utcOffsetMinutes } from '../plant.ts';
import { RestartDialog } from './RestartDialog.tsx';
import './restarts.css';
import { kindWords, restartFacts, restartHeadline } from './restart-words.ts';

/** A link may name the one that it is about. */
const askedAmong = (restarts: readonly Restart[]): string | null => {
  const asked = new URLSearchParams(location.search).get('restart');
  return restarts.some(({ id }) => id === asked) ? asked : null;
};

/** Changes of a set-up that are not approved, each with the way to its first piece. */
export function Restarts({
  restarts,
  next,
}: {
  restarts: readonly Restart[];
  /** What to do next, by restart, where there is room for it. */
  next?: ReadonlyMap<string, string>;
}) {
  const open = useSignal<string | null>(askedAmong(restarts));
  if (restarts.length === 0 && open.value === null) return null;
  return (
    <div class="restarts">
      {restarts.map((restart) => {
        const place = stationsById.value.get(restart.stationId ?? '')?.name ?? 'the whole line';
        const who = peopleById.value.get(restart.stateBy)?.name ?? restart.stateBy;
        return (
          <div key={restart.id} class="restart" data-restart={restart.id}>
            <p class="restart-headline">
              <span aria-hidden="true">⊘ </span>
              {restartHeadline(restart, tickingNow.value, utcOffsetMinutes.value)}
            </p>
            <p>
              {kindWords[restart.kind][0]!.toUpperCase() + kindWords[restart.kind].slice(1)}, {place}.{' '}
              {restartFacts(restart, who)}
            </p>
            {next?.has(restart.id) && (
              <p>
                <strong>Next:</strong> {next.get(restart.id)}
              </p>
            )}
            <button
              type="button"
              onClick={() => {
                open.value = restart.id;
              }}
            >
              First piece
              <span class="visually-hidden">
                {' '}
                after the {kindWords[restart.kind]}, {place}
              </span>
            </button>
          </div>
        );
      })}
      {open.value !== null && (
        <RestartDialog
          key={open.value}
          restartId={open.value}
          close={() => {
            open.value = null;
          }}
        />
      )}
    </div>
  );
}

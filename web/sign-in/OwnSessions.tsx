import { useSignal } from '@preact/signals';
import type { OwnSession } from '../../api/schemas.ts';
import { call } from '../client.ts';
import { formatDateTime } from '../format.ts';
import { stationsById, utcOffsetMinutes } from '../plant.ts';
import { ProblemNotice } from '../ui/ProblemNotice.tsx';

const wayWords: Record<OwnSession['way'], string> = {
  password: 'by password',
  'password and code': 'by password and code',
  'password and recovery code': 'by password and a recovery code',
  pin: 'by PIN',
  link: 'by one-time link',
  provider: 'by the provider',
};

/** Where else am I signed in? */
export function OwnSessions() {
  const sessions = useSignal<readonly OwnSession[] | null>(null);
  const problem = useSignal<Error | null>(null);
  const doing = async (work: () => Promise<unknown>) => {
    try {
      await work();
      sessions.value = await call('GET /api/sessions');
      problem.value = null;
    } catch (error) {
      problem.value = error as Error;
    }
  };
  const time = (at: string): string => formatDateTime(at, utcOffsetMinutes.value);
  return (
    <details
      onToggle={(event) => {
        if (event.currentTarget.open) doing(async () => {});
      }}
    >
      <summary>Where you are signed in</summary>
      <div class="stack">
        <ProblemNotice error={problem.value} />
        <ul class="own-sessions">
          {(sessions.value ?? []).map((one) => {
            const place =
              one.stationId === null
                ? 'Away from the stations'
                : (stationsById.value.get(one.stationId)?.name ?? one.stationId);
            return (
              <li key={one.id}>
                <p>
                  <strong>{one.here ? `${place} (here)` : place}</strong>,{' '}
                  {one.device !== null && `${one.device}, `}
                  {wayWords[one.way]} since {time(one.beganAt)}, last used {time(one.lastUsedAt)}
                </p>
                {!one.here && (
                  <button
                    type="button"
                    onClick={() => doing(() => call('DELETE /api/sessions/{id}', { params: { id: one.id } }))}
                  >
                    Sign out there{' '}
                    <span class="visually-hidden">
                      ({place}
                      {one.device !== null && `, ${one.device}`}, since {time(one.beganAt)})
                    </span>
                  </button>
                )}
              </li>
            );
          })}
        </ul>
      </div>
    </details>
  );
}

import { call } from '../client.ts';
import { formatDateTime, formatDuration } from '../format.ts';
import { tickingNow } from '../live.ts';
import { peopleById, utcOffsetMinutes } from '../plant.ts';
import { Notice } from '../ui/Notice.tsx';
import { useKeptFresh } from './use-kept-fresh.ts';

/** On the board: a handover that nobody has taken over. */
export function WaitingHandover() {
  const { value } = useKeptFresh(() =>
    call('GET /api/handovers', { query: { state: 'waiting', limit: 10 } }),
  );
  return (
    <>
      {(value.value ?? []).map(({ no, personId, at }) => (
        <Notice key={no} kind="ask" title={`Handover ${no} waits: nobody has taken it over`}>
          <p>
            Given by {peopleById.value.get(personId)?.name ?? personId},{' '}
            {formatDateTime(at, utcOffsetMinutes.value)} ({formatDuration(tickingNow.value - Date.parse(at))}
            ). <a href={`/handover?no=${no}`}>Read it and take it over</a>
          </p>
        </Notice>
      ))}
    </>
  );
}

import type { Flood, Floor } from '../../api/schemas.ts';
import { formatTime } from '../format.ts';
import { peopleById, utcOffsetMinutes } from '../plant.ts';
import { Notice } from '../ui/Notice.tsx';

export const floodSentence = ({ personId, alarms, from, to }: Flood): string => {
  const whom = personId === null ? 'this board' : (peopleById.value.get(personId)?.name ?? personId);
  const time = (at: string): string => formatTime(at, utcOffsetMinutes.value);
  return `${alarms} alarms came to ${whom} ${to === null ? 'since' : 'from'} ${time(from)}${to === null ? '' : ` to ${time(to)}`}.`;
};

/** What keeps people from seeing alarms: too many at once, messages that did not arrive, measurements not taken in. */
export function Lookouts({ floor }: { floor: Floor }) {
  const { floods, deadMessages, refusedMeasurements } = floor;
  return (
    <>
      {floods.length > 0 && (
        <Notice kind="call" title="More alarms than one person can follow">
          <ul>
            {floods.map((flood) => (
              <li key={flood.personId ?? ''}>{floodSentence(flood)}</li>
            ))}
          </ul>
          <p>Take the worst first, and ask for help: above 10 in 10 minutes some are overlooked.</p>
        </Notice>
      )}
      {(deadMessages > 0 || refusedMeasurements > 0) && (
        <Notice kind="ask" title="Somebody has to look after this">
          {deadMessages > 0 && (
            <p>
              {deadMessages} message{deadMessages === 1 ? '' : 's'} could not be delivered.
            </p>
          )}
          {refusedMeasurements > 0 && (
            <p>
              {refusedMeasurements} measurement{refusedMeasurements === 1 ? '' : 's'} by MQTT could not be
              taken in.
            </p>
          )}
          <p>
            <a href="/alarms#messages">See which, and why</a>
          </p>
        </Notice>
      )}
    </>
  );
}

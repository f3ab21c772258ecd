import { useEffect } from 'preact/hooks';
import { plantModel, stationsById } from '../plant.ts';
import { chosenStationId } from '../session.ts';
import { Notice } from '../ui/Notice.tsx';
import { Announcer } from './announce.tsx';
import { StationChoice } from './StationChoice.tsx';
import './station.css';
import { Workplace } from './Workplace.tsx';

const askedStationId = new URLSearchParams(location.search).get('station');

/** The quality tech's workplace: what is due here, measure it, know what to do. */
export default function Station() {
  useEffect(() => {
    if (askedStationId !== null && stationsById.value.has(askedStationId))
      chosenStationId.value = askedStationId;
  }, []);
  const station = stationsById.value.get(chosenStationId.value ?? '');
  useEffect(() => {
    if (station) history.replaceState(null, '', `?station=${encodeURIComponent(station.id)}`);
  }, [station?.id]);

  return (
    <div class="station">
      <Announcer />
      {plantModel.value?.people.length === 0 && (
        <Notice kind="ask" title="Nobody is known in this plant yet">
          <p>
            Every entry carries a name. Add a person in <a href="/setup">Setup</a> first.
          </p>
        </Notice>
      )}
      {station ? <Workplace key={station.id} station={station} /> : <StationChoice />}
    </div>
  );
}

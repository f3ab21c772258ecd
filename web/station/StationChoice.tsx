import { linesById, plantModel } from '../plant.ts';
import { chosenStationId } from '../session.ts';
import { Notice } from '../ui/Notice.tsx';

/** Asked once on each device. */
export function StationChoice() {
  const stations = plantModel.value?.stations ?? [];
  if (stations.length === 0)
    return (
      <>
        <h1>Station</h1>
        <Notice kind="quiet" title="This plant has no station yet">
          <p>
            Add a line and a station in <a href="/setup">Setup</a>.
          </p>
        </Notice>
      </>
    );
  return (
    <>
      <h1>At which station is this device?</h1>
      <ul class="station-doors">
        {stations.map((station) => (
          <li key={station.id}>
            <button
              type="button"
              onClick={() => {
                chosenStationId.value = station.id;
              }}
            >
              <strong>{station.name}</strong>
              <span>{linesById.value.get(station.lineId)?.name}</span>
            </button>
          </li>
        ))}
      </ul>
    </>
  );
}

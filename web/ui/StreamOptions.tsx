import type { PlantModel } from '../../api/schemas.ts';
import { streamTitle } from '../names.ts';

/** Every stream of the plant for a select, under its line and station. */
export function StreamOptions({ plant }: { plant: PlantModel }) {
  return (
    <>
      {plant.lines.flatMap((line) =>
        plant.stations
          .filter((station) => station.lineId === line.id)
          .map((station) => (
            <optgroup key={station.id} label={`${line.name}, ${station.name}`}>
              {plant.streams
                .filter((stream) => stream.stationId === station.id)
                .map((stream) => (
                  <option key={stream.id} value={stream.id}>
                    {streamTitle(stream.id)}
                  </option>
                ))}
            </optgroup>
          )),
      )}
    </>
  );
}

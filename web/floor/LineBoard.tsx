import type { Alarm, FloorStream, Restart } from '../../api/schemas.ts';
import { formatDuration } from '../format.ts';
import { tickingNow } from '../live.ts';
import { streamTitle } from '../names.ts';
import { plantModel, streamsById } from '../plant.ts';
import { Restarts } from '../restarts/Restarts.tsx';
import { alarmOverWords, streamStateWords } from './words.ts';

/** Every line, its stations and streams. */
export function LineBoard({
  streams,
  alarms,
  restarts,
  openAlarm,
}: {
  streams: readonly FloorStream[];
  alarms: readonly Alarm[];
  restarts: readonly Restart[];
  openAlarm: (alarmId: number) => void;
}) {
  const plant = plantModel.value;
  if (plant === null) return null;
  if (plant.streams.length === 0) {
    return (
      <p>
        No stream is set up yet. Begin in <a href="/setup">Setup</a>.
      </p>
    );
  }
  return (
    <div class="line-board">
      {plant.lines.map((line) => {
        const stations = plant.stations.filter((station) => station.lineId === line.id);
        return (
          <section key={line.id} aria-labelledby={`line-${line.id}`}>
            <h2 id={`line-${line.id}`}>{line.name}</h2>
            <Restarts restarts={restarts.filter(({ lineId }) => lineId === line.id)} />
            {stations.map((station) => (
              <div key={station.id} class="station-row">
                {(stations.length > 1 || station.name !== line.name) && <h3>{station.name}</h3>}
                <ul class="tiles">
                  {streams
                    .filter((item) => streamsById.value.get(item.streamId)?.stationId === station.id)
                    .map((item) => (
                      <StreamTile
                        key={item.streamId}
                        item={item}
                        alarm={alarms.find(({ id }) => id === item.alarmId)}
                        openAlarm={openAlarm}
                      />
                    ))}
                </ul>
              </div>
            ))}
          </section>
        );
      })}
    </div>
  );
}

function StreamTile({
  item,
  alarm,
  openAlarm,
}: {
  item: FloorStream;
  alarm: Alarm | undefined;
  openAlarm: (alarmId: number) => void;
}) {
  const state = alarm?.state === 'returned-to-normal' ? alarmOverWords : streamStateWords[item.state];
  const alarmId = item.alarmId;
  return (
    <li class={`tile ${state.tone}`} data-stream={item.streamId} data-state={item.state}>
      <p class="tile-state">
        <span aria-hidden="true">{state.mark}</span> {state.word}
      </p>
      <p class="tile-name">
        <a href={`/review?stream=${encodeURIComponent(item.streamId)}`}>{streamTitle(item.streamId)}</a>
      </p>
      <p class="tile-facts">
        {item.lastSampleAt === null
          ? 'No sample yet'
          : `Last sample ${formatDuration(tickingNow.value - Date.parse(item.lastSampleAt))} ago`}
        {item.missedToday > 0 && `, ${item.missedToday} missed today`}
      </p>
      {item.state === 'signal' && <p>{item.lastSentence}</p>}
      {alarmId !== null && (
        <button type="button" onClick={() => openAlarm(alarmId)}>
          Alarm {alarmId}
        </button>
      )}
    </li>
  );
}

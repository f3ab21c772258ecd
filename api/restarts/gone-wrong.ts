/** What went wrong since a change and the newest samples do not show any more. It decides nothing: people look at it. */
import { containmentOf } from '../monitoring/containment.ts';
import { surelyOutside } from '../monitoring/measured-values.ts';
import { outsideSentence } from '../monitoring/outside-sentence.ts';
import { isOutside } from '../monitoring/settle-alarm.ts';
import { streamContext } from '../monitoring/stream-context.ts';
import { plantTime } from '../plant-time.ts';
import type { FirstPieceResult, GoneWrong, PlantModel } from '../schemas.ts';
import type { AlarmRow, SampleRow, StoreReads } from '../store/store.ts';
import type { RestartRow } from './restart-records.ts';

/** A restart that waits for longer has more samples than anybody reads sentences of. */
const MOST_SAMPLES = 100;
const never = Number.MAX_SAFE_INTEGER;

/** By stream of the plan: its open alarm, and what lay outside the drawing before the sample that is shown. */
export async function goneWrong(
  store: StoreReads,
  plant: PlantModel,
  restart: RestartRow,
  results: readonly FirstPieceResult[],
  now: number,
): Promise<readonly GoneWrong[]> {
  const found: GoneWrong[] = [];
  for (const { streamId } of restart.plan) {
    const shown = results.find((result) => result.streamId === streamId);
    const until = shown?.takenAt == null ? never : Date.parse(shown.takenAt);
    for (const { id } of plant.models) {
      // An alarm of another model says nothing of this set-up.
      if (restart.modelId !== null && restart.modelId !== id) continue;
      const alarm = await store.openAlarm(streamId, id);
      if (alarm !== null)
        found.push({ streamId, alarmId: alarm.id, sentence: await ofAlarm(store, alarm, now) });
      const period = { from: restart.at, to: until };
      const outside: SampleRow[] = [];
      for (const sample of await store.samples(streamId, id, period, MOST_SAMPLES))
        if (sample.id !== shown?.sampleId && (await isOutside(store, sample))) outside.push(sample);
      if (outside.length > 0)
        found.push({ streamId, alarmId: null, sentence: await ofSamples(store, plant, outside) });
    }
  }
  return found;
}

async function ofAlarm(store: StoreReads, alarm: AlarmRow, now: number): Promise<string> {
  const { suspectParts } = await containmentOf(store, alarm, now);
  // None by the rate of the line, a moment after the sample, does not say that no part is bad.
  if (suspectParts === 0) return `Alarm ${alarm.id} is open.`;
  const parts = suspectParts === 1 ? 'about 1 part is suspect' : `about ${suspectParts} parts are suspect`;
  return `Alarm ${alarm.id} is open, and ${parts} by it.`;
}

/** The newest of them in words; the others are counted. */
async function ofSamples(
  store: StoreReads,
  plant: PlantModel,
  outside: readonly SampleRow[],
): Promise<string> {
  const newest = outside.at(-1)!;
  const at = plantTime(newest.takenAt, plant.plant.utcOffsetMinutes).slice(11);
  const others = outside.length - 1;
  const also = others === 0 ? '' : ` (and ${others} more before)`;
  const what =
    newest.count === null
      ? outsideSentence(
          newest,
          surelyOutside(newest).length > 0 ? surelyOutside(newest) : newest.outsideSpecification,
          streamContext(plant, newest.streamId, newest.modelId),
        )
      : ((await store.newestAnswer(newest.id))?.verdict.sentence ?? '');
  return `Since the change, at ${at}${also}: ${what}`;
}

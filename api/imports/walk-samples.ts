import { setImmediate } from 'node:timers/promises';
import type { Period, SampleRow, StoreReads } from '../store/store.ts';

const PAGE = 500;
/** Samples taken in the very same millisecond come in one piece. */
const MOST_AT_ONCE = 1_000_000;

/** The samples of a stream and part model in a period, oldest first, some hundreds at a time. */
export async function* walkSamples(
  store: StoreReads,
  streamId: string,
  modelId: string,
  period: Period,
): AsyncGenerator<readonly SampleRow[]> {
  let from = period.from;
  for (;;) {
    const places = await store.chartedSamplesAfter(streamId, modelId, { takenAt: from, no: 0 }, PAGE);
    const last = places.at(-1);
    if (last === undefined || places[0]!.takenAt > period.to) return;
    const to = Math.min(last.takenAt, period.to);
    yield await store.samples(streamId, modelId, { from, to }, MOST_AT_ONCE);
    if (places.length < PAGE || to === period.to) return;
    from = to + 1;
    await setImmediate();
  }
}

import type { CountedParts } from '../schemas.ts';
import type { SamplePlace, StoreReads } from '../store/store.ts';
import type { StreamContext } from './stream-context.ts';

/** So many samples of a stream and model are its recent history. */
const RECENT = 25;

/** The counts before a sample, oldest first; empty where readings are taken. */
export async function recentCounts(
  store: StoreReads,
  { stream, modelId, characteristic }: StreamContext,
  { takenAt, no }: SamplePlace,
): Promise<readonly CountedParts[]> {
  if (characteristic.kind !== 'count') return [];
  // One more, for the sample itself where it is stored; later ones of the same moment are few.
  const until = await store.samples(stream.id, modelId, { from: 0, to: takenAt }, RECENT + 1);
  return until
    .filter((sample) => sample.takenAt < takenAt || sample.no < no)
    .flatMap(({ count }) => (count === null ? [] : [count]))
    .slice(-RECENT);
}

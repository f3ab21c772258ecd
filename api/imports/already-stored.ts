import type { StoreReads } from '../store/store.ts';
import { mapInTurns } from './map-in-turns.ts';
import type { FileSample } from './read-samples.ts';
import { contentKey, importedSampleId } from './sample-identity.ts';
import { walkSamples } from './walk-samples.ts';

export interface IdentifiedSample extends FileSample {
  readonly id: string;
}

/**
 * Gives each sample its id and tells which of them are stored already: imported before, or with the same time and
 * the same readings, as when a file that was exported here comes back.
 */
export async function sortOut(
  store: StoreReads,
  { streamId, modelId }: { readonly streamId: string; readonly modelId: string },
  samples: readonly FileSample[],
): Promise<{ readonly fresh: readonly IdentifiedSample[]; readonly alreadyStored: number }> {
  if (samples.length === 0) return { fresh: [], alreadyStored: 0 };
  let from = Number.POSITIVE_INFINITY;
  let to = Number.NEGATIVE_INFINITY;
  for (const { takenAt } of samples) {
    from = Math.min(from, takenAt);
    to = Math.max(to, takenAt);
  }

  const wanted = new Map<string, number>();
  const ids = new Set<string>();
  const identified = await mapInTurns(samples, (sample) => {
    const key = contentKey(sample);
    const occurrence = wanted.get(key) ?? 0;
    wanted.set(key, occurrence + 1);
    const id = importedSampleId(streamId, modelId, key, occurrence);
    ids.add(id);
    return { key, occurrence, sample: { ...sample, id } };
  });

  const storedIds = new Set<string>();
  const storedTimes = new Map<string, number>();
  for await (const rows of walkSamples(store, streamId, modelId, { from, to })) {
    for (const { id, takenAt, readings, count } of rows) {
      if (ids.has(id)) storedIds.add(id);
      const key = contentKey({ takenAt, values: readings?.map(({ value }) => value) ?? null, count });
      if (wanted.has(key)) storedTimes.set(key, (storedTimes.get(key) ?? 0) + 1);
    }
  }
  const fresh = identified
    .filter(
      ({ key, occurrence, sample }) => !storedIds.has(sample.id) && occurrence >= (storedTimes.get(key) ?? 0),
    )
    .map(({ sample }) => sample);
  return { fresh, alreadyStored: samples.length - fresh.length };
}

import { createHash } from 'node:crypto';
import type { CountedParts } from '../schemas.ts';

interface Content {
  readonly takenAt: number;
  readonly values: readonly (number | null)[] | null;
  readonly count: CountedParts | null;
}

/**
 * What makes a sample of one stream and part model the same as another. Missing readings at its end do not count:
 * a table has them wherever another row is longer.
 */
export function contentKey({ takenAt, values, count }: Content): string {
  if (values === null) return `${takenAt}|${count?.nonconforming}/${count?.inspected}`;
  let end = values.length;
  while (end > 0 && values[end - 1] === null) end -= 1;
  return `${takenAt}|${values
    .slice(0, end)
    .map((value) => value ?? '')
    .join(',')}`;
}

/**
 * The id of an imported sample, computed from its content, so that the same file imported again stores nothing
 * again. `occurrence` tells samples of equal content in one file apart. A UUID of version 8 (RFC 9562).
 */
export function importedSampleId(streamId: string, modelId: string, key: string, occurrence: number): string {
  const hash = createHash('sha256')
    .update(JSON.stringify([streamId, modelId, key, occurrence]))
    .digest();
  hash[6] = (hash[6]! & 0x0f) | 0x80;
  hash[8] = (hash[8]! & 0x3f) | 0x80;
  const hex = hash.toString('hex');
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20, 32)].join(
    '-',
  );
}

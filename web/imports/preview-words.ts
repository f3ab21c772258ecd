import type { ImportPreview } from '../../api/schemas.ts';
import { formatCount } from '../format.ts';

export const many = (count: number, one: string, more: string): string =>
  `${formatCount(count)} ${count === 1 ? one : more}`;

/** What the button does: how many samples it stores, and how many of them have warnings. */
export function storeButton({
  samples,
  alreadyStored,
  samplesWithWarnings,
}: Pick<ImportPreview, 'samples' | 'alreadyStored' | 'samplesWithWarnings'>): string {
  const store = `Store ${many(samples - alreadyStored, 'sample', 'samples')}`;
  return samplesWithWarnings === 0
    ? store
    : `${store}, ${formatCount(samplesWithWarnings)} with ${samplesWithWarnings === 1 ? 'a warning' : 'warnings'}`;
}

import type { Alarm } from '../../api/schemas.ts';
import { formatNumber } from '../format.ts';
import { characteristicOf } from '../names.ts';
import { specificationFor } from '../plant.ts';

/** Are the parts good now? The newest sample of the alarm's chart against the drawing, in one sentence. */
export function partsNow({ streamId, modelId, newest }: Alarm): string | null {
  const characteristic = characteristicOf(streamId);
  if (newest === null || characteristic === null || characteristic.kind === 'count') return null;
  const { decimals, unit } = characteristic;
  const written = (value: number | null): string => formatNumber(value, decimals);
  const values = newest.values.map(written).join(' · ');
  const of = `Newest sample: ${values}${unit === '1' ? '' : ` ${unit}`}.`;
  const specification = specificationFor(characteristic.id, modelId);
  if (specification === null) return `${of} No drawing limits are set for this part model.`;
  const count = newest.outsideSpecification.length;
  if (count === 0) return `${of} None outside the drawing.`;
  const { lowerSpecificationLimit: lower, upperSpecificationLimit: upper } = specification;
  const limits = [
    lower === null ? null : `at least ${written(lower)}`,
    upper === null ? null : `at most ${written(upper)}`,
  ].filter((limit) => limit !== null);
  return `${of} ${count} of ${newest.values.length} outside the drawing (${limits.join(', ')}).`;
}

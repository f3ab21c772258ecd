import type { Characteristic, Specification } from '../schemas.ts';
import type { MeasuredValues } from '../store/store.ts';

interface Drawing {
  readonly characteristic: Characteristic;
  readonly specification: Specification | null;
}

/** How many pieces are outside the drawing, and the one farthest out: "1 of 5 pieces is outside the drawing: ...". */
export function outsideSentence(
  { readings, size }: Pick<MeasuredValues, 'readings' | 'size'>,
  positions: readonly number[],
  { characteristic, specification }: Drawing,
): string {
  const values = positions.flatMap((position) => readings?.[position]?.value ?? []);
  const [farthest] = values
    .flatMap((value) => breachesOf(value, specification))
    .sort((a, b) => b.distance - a.distance);
  const count = `${values.length} of ${size} ${size === 1 ? 'piece' : 'pieces'} ${values.length === 1 ? 'is' : 'are'} outside the drawing`;
  // The drawing may have been changed since, so that none of them is outside the one of now.
  if (farthest === undefined) return `${count} of its time.`;
  const { value, bound, limit } = farthest;
  const unit = characteristic.unit === '1' ? '' : ` ${characteristic.unit}`;
  const one = values.length === 1 ? '' : 'the farthest ';
  return `${count}: ${one}${shown(value, characteristic)}${unit}, ${bound} ${shown(limit, characteristic)}.`;
}

function breachesOf(value: number, specification: Specification | null) {
  const { lowerSpecificationLimit: lower = null, upperSpecificationLimit: upper = null } =
    specification ?? {};
  if (upper !== null && value > upper)
    return [{ value, distance: value - upper, bound: 'at most', limit: upper }];
  if (lower !== null && value < lower)
    return [{ value, distance: lower - value, bound: 'at least', limit: lower }];
  return [];
}

/** With the gauge's decimals; a value written finer keeps its own, or it could read like the limit that it passes. */
function shown(value: number, { decimals }: Characteristic): string {
  const written = String(value);
  const own = /e/.test(written) ? decimals : (written.split('.')[1]?.length ?? 0);
  return value.toFixed(Math.min(Math.max(decimals, own), 12));
}

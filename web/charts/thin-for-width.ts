/** The part of a series to be drawn, and the space that there is for it. */
interface Space {
  /** First and last index to be drawn, both included. */
  readonly first: number;
  readonly last: number;
  /** Pixel columns. */
  readonly columns: number;
  /** Points that must not be lost, whatever the space: outside the limits, part of a signal, chosen. */
  readonly keep: (index: number) => boolean;
}

/**
 * Indices of the points worth drawing, in order. Where a pixel column holds more points than the eye can
 * tell apart, its first, lowest, highest and last stay, so that the line looks exactly as if all were drawn.
 */
export function thinForWidth(
  values: readonly (number | null)[],
  { first, last, columns, keep }: Space,
): number[] {
  const start = Math.max(0, first);
  const count = Math.min(values.length - 1, last) - start + 1;
  if (count <= 0) return [];
  if (count <= 4 * columns) return Array.from({ length: count }, (_, step) => start + step);

  const drawn: number[] = [];
  for (let column = 0; column < columns; column++) {
    const from = start + Math.floor((column * count) / columns);
    const until = start + Math.floor(((column + 1) * count) / columns);
    let lowest = -1;
    let highest = -1;
    for (let index = from; index < until; index++) {
      const value = values[index] as number | null;
      if (value === null) continue;
      if (lowest < 0 || value < (values[lowest] as number)) lowest = index;
      if (highest < 0 || value > (values[highest] as number)) highest = index;
    }
    for (let index = from; index < until; index++) {
      const edge = index === from || index === until - 1;
      if (edge || index === lowest || index === highest || keep(index)) drawn.push(index);
    }
  }
  return drawn;
}

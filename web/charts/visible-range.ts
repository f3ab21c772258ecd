/** The part of a series that the charts show: first and last index, both included. */
export interface VisibleRange {
  readonly first: number;
  readonly last: number;
}

/** Fewer points than this tell nothing. */
const FEWEST = 5;

export const wholeRange = (count: number): VisibleRange => ({ first: 0, last: Math.max(0, count - 1) });

const lengthOf = (range: VisibleRange): number => range.last - range.first + 1;

/** Keeps the length where it can, and stays inside the series. */
function within(first: number, length: number, count: number): VisibleRange {
  const kept = Math.min(count, Math.max(Math.min(FEWEST, count), Math.round(length)));
  const start = Math.min(Math.max(0, Math.round(first)), count - kept);
  return { first: start, last: start + kept - 1 };
}

/** Smaller factor, closer view. The point `about` stays where it is on the screen. */
export function zoomed(range: VisibleRange, factor: number, about: number, count: number): VisibleRange {
  if (count === 0) return range;
  const length = Math.max(FEWEST, lengthOf(range) * factor);
  const share = (about - range.first + 0.5) / lengthOf(range);
  return within(about + 0.5 - share * length, length, count);
}

/** Moves by a share of what is shown: −0.5 is half a screen earlier. */
export function moved(range: VisibleRange, share: number, count: number): VisibleRange {
  if (count === 0) return range;
  const length = lengthOf(range);
  return within(range.first + Math.sign(share) * Math.max(1, Math.abs(share) * length), length, count);
}

/** What lies between two places, given in any order. */
export function between(one: number, other: number, count: number): VisibleRange {
  const first = Math.min(one, other);
  return within(first, Math.max(one, other) - first + 1, count);
}

/** Moves just far enough to show a point. */
export function showing(range: VisibleRange, index: number, count: number): VisibleRange {
  if (index >= range.first && index <= range.last) return range;
  const length = lengthOf(range);
  return within(index < range.first ? index : index - length + 1, length, count);
}

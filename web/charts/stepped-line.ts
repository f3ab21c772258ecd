import { thinForWidth } from './thin-for-width.ts';
import type { VisibleRange } from './visible-range.ts';

/** A value that holds from a point on, until the next level begins. */
export interface Level {
  readonly first: number;
  readonly value: number | null;
}

/** Neighbours of one value become one level: limits mostly stay the same for a long time. */
export function levelsOf(values: readonly (number | null)[]): Level[] {
  const levels: Level[] = [];
  values.forEach((value, first) => {
    if (levels.length === 0 || levels.at(-1)!.value !== value) levels.push({ first, value });
  });
  return levels;
}

/**
 * Corners of a stepped line over the visible range: each point's limit reaches half-way to its neighbours. NaN
 * breaks the line; a line without any value has no corner.
 */
export function steppedLine(
  levels: readonly Level[],
  range: VisibleRange,
  columns: number,
): { x: number; y: number }[] {
  const last = levels.findLastIndex((level) => level.first <= range.last);
  const first = levels.findLastIndex((level) => level.first <= range.first);
  if (first < 0 || last < 0) return [];
  const drawn = thinForWidth(
    levels.map((level) => level.value),
    { first, last, columns, keep: () => false },
  );
  const corners = drawn.flatMap((place, step) => {
    const { first: begin, value } = levels[place]!;
    const next = drawn[step + 1];
    const end = next === undefined ? range.last + 1 : levels[next]!.first;
    const y = value ?? Number.NaN;
    return [
      { x: Math.max(begin, range.first) - 0.5, y },
      { x: end - 0.5, y },
    ];
  });
  return corners.some((corner) => !Number.isNaN(corner.y)) ? corners : [];
}

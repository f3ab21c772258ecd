/** Readings against the drawing, on the page itself: also when the server is silent a bad piece is called bad. */
import type { Reading, Specification } from '../../api/schemas.ts';
import { limitPassed } from '../../src/decision/limit-passed.ts';

type Drawing = Pick<Specification, 'lowerSpecificationLimit' | 'upperSpecificationLimit'>;

/** Positions of the readings outside. */
export const outsideDrawing = (readings: readonly Reading[], drawing: Drawing | null): number[] =>
  readings.flatMap(({ value }, position) =>
    drawing !== null && value !== null && limitPassed(value, drawing) !== null ? [position] : [],
  );

/** "pieces 1, 4": people count from 1. */
export const pieceList = (positions: readonly number[]): string =>
  `${positions.length === 1 ? 'piece' : 'pieces'} ${positions.map((position) => position + 1).join(', ')}`;

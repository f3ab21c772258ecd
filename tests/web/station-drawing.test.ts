import { describe, expect, it } from 'vitest';
import { outsideDrawing, pieceList } from '../../web/station/outside-drawing.ts';

describe('readings against the drawing, without the server', () => {
  const drawing = { lowerSpecificationLimit: 189.5, upperSpecificationLimit: 191.5 };
  const readings = [191.9, 190.5, null, 189.49, 191.5, 189.5].map((value) => ({ value }));

  it('names the pieces outside; a value on the limit is inside', () => {
    expect(outsideDrawing(readings, drawing)).toEqual([0, 3]);
    expect(pieceList([0, 3])).toBe('pieces 1, 4');
    expect(pieceList([2])).toBe('piece 3');
  });

  it('knows one-sided drawings, and none', () => {
    expect(outsideDrawing(readings, { ...drawing, lowerSpecificationLimit: null })).toEqual([0]);
    expect(outsideDrawing(readings, { ...drawing, upperSpecificationLimit: null })).toEqual([3]);
    expect(outsideDrawing(readings, null)).toEqual([]);
  });
});

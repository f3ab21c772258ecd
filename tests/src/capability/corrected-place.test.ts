import { describe, expect, it } from 'vitest';
import { correctedPlace } from '../../../src/capability/corrected-place.ts';

const draws = Float64Array.from({ length: 100 }, (_, place) => place);

describe('correctedPlace', () => {
  it('leaves a place alone without bias and acceleration', () => {
    // Half of 0 … 99 lie below 49.5; of 101 draws the middle one counts as half below itself.
    for (const [sorted, estimate] of [
      [draws, 49.5],
      [Float64Array.from({ length: 101 }, (_, place) => place), 50],
    ] as const)
      for (const probability of [0.025, 0.5, 0.9])
        expect(correctedPlace(sorted, estimate, 0)(probability)).toBeCloseTo(probability, 12);
  });

  it('moves it for bias and for acceleration', () => {
    // Efron 1987 by hand, Φ from Python's statistics.NormalDist: 60 of 100 draws below the estimate.
    expect(correctedPlace(draws, 59.5, 0)(0.05)).toBeCloseTo(0.12752695988192297, 9);
    expect(correctedPlace(draws, 59.5, 0)(0.95)).toBeCloseTo(0.9842835077057546, 9);
    expect(correctedPlace(draws, 59.5, 0.1)(0.05)).toBeCloseTo(0.16647655533757533, 9);
    expect(correctedPlace(draws, 59.5, 0.1)(0.95)).toBeCloseTo(0.9952880980032363, 9);
  });

  it('keeps places in order where all draws lie on one side, and under any acceleration', () => {
    for (const [estimate, acceleration] of [
      [-1, 0.2],
      [1000, -0.2],
      [59.5, 5],
    ] as const) {
      const place = correctedPlace(draws, estimate, acceleration);
      const places = [0.01, 0.05, 0.5, 0.95, 0.99].map(place);
      expect(places).toEqual(places.toSorted((a, b) => a - b));
      for (const one of places) expect(Number.isFinite(one)).toBe(true);
    }
  });
});

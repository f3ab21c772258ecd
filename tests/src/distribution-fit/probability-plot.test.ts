import { describe, expect, it } from 'vitest';
import { type Distribution, distributionQuantile, probabilityPlot } from '../../../src/index.ts';
import { randomSource } from '../../../src/numerics/random.ts';

const normal: Distribution = { distribution: 'normal', parameters: { mu: 10, sigma: 2 } };

describe('probabilityPlot', () => {
  it('orders the values and places them by the published positions', () => {
    const values = Object.freeze([12, 8, 10.5, 9]);
    const positions = (plottingPosition: 'hazen' | 'blom' | 'median-rank') =>
      probabilityPlot(values, { fitted: normal, plottingPosition }).points.map((point) => point.probability);
    expect(probabilityPlot(values, { fitted: normal }).points.map((point) => point.value)).toEqual([
      8, 9, 10.5, 12,
    ]);
    expect(positions('hazen')).toEqual([0.125, 0.375, 0.625, 0.875]);
    expect(positions('blom')).toEqual([0.625 / 4.25, 1.625 / 4.25, 2.625 / 4.25, 3.625 / 4.25]);
    // The median of the first of 4 ranks solves 1 − (1 − p)⁴ = ½.
    expect(positions('median-rank')[0]).toBeCloseTo(1 - 0.5 ** 0.25, 13);
    expect(positions('median-rank')[3]).toBeCloseTo(0.5 ** 0.25, 13);
    expect(probabilityPlot(values, { fitted: normal }).plottingPosition).toBe('hazen');
  });

  it('puts a single value at the median, and the band of its rank around it', () => {
    const { points } = probabilityPlot([11], { fitted: normal, confidence: 0.9 });
    expect(points).toEqual([
      {
        value: 11,
        probability: 0.5,
        normalScore: 0,
        theoreticalQuantile: 10,
        lowerBound: expect.closeTo(distributionQuantile(normal, 0.05), 10),
        upperBound: expect.closeTo(distributionQuantile(normal, 0.95), 10),
        isOutside: false,
      },
    ]);
  });

  it('marks what lies beyond the band, on either side', () => {
    const plot = probabilityPlot([0, 10, 20], { fitted: normal });
    expect(plot.points.map((point) => point.isOutside)).toEqual([true, false, true]);
    expect(plot).toMatchObject({ pointsOutside: 2, sampleSize: 3, confidence: 0.95 });
    expect(plot.message).toContain('2 of 3 points');
    expect(plot.message).toContain('about 0.15');
  });

  it('holds each point of a known distribution with the confidence asked for', () => {
    const random = randomSource(8);
    let outside = 0;
    const samples = 120;
    for (let sample = 0; sample < samples; sample++) {
      const values = Array.from({ length: 15 }, () => 10 + 2 * random.normal());
      outside += probabilityPlot(values, { fitted: normal, confidence: 0.8 }).pointsOutside;
    }
    // Points of a sample move together, so the standard deviation of the share is about 0.4/√120 · a little.
    expect(outside / (15 * samples)).toBeGreaterThan(0.15);
    expect(outside / (15 * samples)).toBeLessThan(0.25);
  });

  it('has no place where the distribution has none', () => {
    const ended: Distribution = { distribution: 'box-cox', parameters: { lambda: -1, mu: 0, sigma: 1 } };
    const { points } = probabilityPlot([1, 2, 3], { fitted: ended });
    expect(points[2]).toMatchObject({ upperBound: null, isOutside: false });
    expect(points[0]!.theoreticalQuantile).toBeCloseTo(1 / (1 + 0.9674215661017014), 12);
  });

  it('refuses bad arguments by name', () => {
    expect(() => probabilityPlot([1, 2], { fitted: normal, plottingPosition: 'mean' as 'blom' })).toThrow(
      expect.objectContaining({ code: 'unknown-name', argument: 'options.plottingPosition' }),
    );
    expect(() => probabilityPlot([1, 2], { fitted: normal, confidence: 1 })).toThrow(
      expect.objectContaining({ code: 'out-of-range', argument: 'options.confidence' }),
    );
    expect(() =>
      probabilityPlot([1, 2], { fitted: { distribution: 'normal', parameters: { mu: 0, sigma: 0 } } }),
    ).toThrow(expect.objectContaining({ code: 'out-of-range', argument: 'options.fitted.parameters.sigma' }));
    expect(() => probabilityPlot([], { fitted: normal })).toThrow(expect.objectContaining({ code: 'empty' }));
    expect(() => probabilityPlot(new Float64Array(10_001), { fitted: normal })).toThrow(
      expect.objectContaining({ code: 'out-of-range', argument: 'values', value: 10_001 }),
    );
  });
});

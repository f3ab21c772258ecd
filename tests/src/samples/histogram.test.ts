import { describe, expect, it } from 'vitest';
import { histogram } from '../../../src/samples/histogram.ts';

describe('histogram', () => {
  it('takes the width 2·IQR·n^(−1/3) of Freedman and Diaconis (1981)', () => {
    // 1, 2, … 1000: quartiles 250.5 and 750.5 (Hyndman and Fan type 2), IQR 500, n^(1/3) = 10, width 100.
    const values = Array.from({ length: 1000 }, (_, index) => index + 1);
    const { bins, binWidth, rule } = histogram(values, { resolution: 1 });
    expect(rule).toBe('Freedman–Diaconis');
    expect(binWidth).toBe(100);
    expect(bins.map((bin) => bin.count)).toEqual(new Array(10).fill(100));
    expect(bins[0]).toEqual({ from: 0.5, to: 100.5, count: 100 });
  });

  it('counts every value once and leaves no gap', () => {
    const values = [2.31, 2.29, 2.3, 2.3, 2.35, 2.28, 2.3, 2.33, 2.31, 2.27];
    const { bins } = histogram(values, { resolution: 0.01 });
    expect(bins.reduce((sum, bin) => sum + bin.count, 0)).toBe(values.length);
    for (let place = 1; place < bins.length; place++) {
      expect(bins[place]!.from).toBeCloseTo(bins[place - 1]!.to, 12);
    }
  });

  it('names a value too far out instead of squeezing all others into one bar', () => {
    const values = [...Array.from({ length: 50 }, (_, index) => 126.5 + (index % 10) / 10), 1271];
    const { bins, farAbove, farBelow } = histogram(values, { resolution: 0.01 });
    expect(farAbove).toEqual([1271]);
    expect(farBelow).toEqual([]);
    expect(bins.length).toBeGreaterThan(2);
    expect(bins.at(-1)!.to).toBeLessThan(130);
  });

  it('falls back to the resolution where the middle half is one value', () => {
    const { binWidth, rule, bins } = histogram([5, 5, 5, 5, 5, 6], { resolution: 0.5 });
    expect(rule).toBe('resolution');
    expect(binWidth).toBe(0.5);
    expect(bins.map((bin) => bin.count)).toEqual([5, 0, 1]);
  });

  it('is moved and scaled with its values', () => {
    const values = [1, 2, 2, 3, 3, 3, 4, 4, 5, 9];
    const once = histogram(values, { resolution: 1 });
    const moved = histogram(
      values.map((value) => value * 1000 + 7000),
      { resolution: 1000 },
    );
    expect(moved.bins.map((bin) => bin.count)).toEqual(once.bins.map((bin) => bin.count));
    expect(moved.binWidth).toBe(once.binWidth * 1000);
  });

  it.each([
    { values: [], resolution: 1, code: 'empty', argument: 'values' },
    { values: [1, Number.NaN], resolution: 1, code: 'not-finite', argument: 'values.1' },
    { values: [1], resolution: 0, code: 'out-of-range', argument: 'resolution' },
  ])('refuses $argument ($code)', ({ values, resolution, code, argument }) => {
    expect(() => histogram(values, { resolution })).toThrow(expect.objectContaining({ code, argument }));
  });
});

import { describe, expect, it } from 'vitest';
import {
  type SamplingScheme,
  sampleSizeForDetection,
  shiftWithinInterval,
  timeToSignal,
} from '../../../src/index.ts';
import { randomSource } from '../../../src/numerics/random.ts';

const scheme: SamplingScheme = { shift: 1, sampleSize: 5, intervalHours: 2, partsPerHour: 900 };

function needed<T extends { readonly available: boolean }>(outcome: T): Extract<T, { available: true }> {
  if (!outcome.available) throw new Error(JSON.stringify(outcome));
  return outcome as Extract<T, { available: true }>;
}

describe('time to signal', () => {
  it('is what simulated shifts give', () => {
    const { uniform, normal } = randomSource(77);
    const exact = needed(timeToSignal({ ...scheme, multiple: 2.5 }));
    const runs = 20_000;
    const hours = Array.from({ length: runs }, () => {
      // The shift comes at a random place of the interval before the first sample that can see it.
      let waited = 2 * uniform();
      while (Math.abs(Math.sqrt(5) + normal()) <= 2.5) waited += 2;
      return waited;
    });
    const mean = hours.reduce((sum, one) => sum + one, 0) / runs;
    const spread = Math.sqrt(hours.reduce((sum, one) => sum + (one - mean) ** 2, 0) / runs);
    const error = exact.standardDeviationOfHours / Math.sqrt(runs);
    expect(Math.abs(mean - exact.averageHoursToSignal)).toBeLessThan(4 * error);
    expect(Math.abs(spread / exact.standardDeviationOfHours - 1)).toBeLessThan(4 * Math.sqrt(2 / runs));
  });

  it('grows with the interval, falls with the sample size, and does not ask for the direction', () => {
    const hours = (change: Partial<SamplingScheme>) =>
      needed(timeToSignal({ ...scheme, ...change })).averageHoursToSignal;
    expect(hours({ intervalHours: 4 })).toBeCloseTo(2 * hours({}), 10);
    expect(hours({ sampleSize: 10 })).toBeLessThan(hours({}));
    expect(hours({ shift: -1 })).toBe(hours({}));
    expect(hours({ delayHours: 3 })).toBeCloseTo(hours({}) + 3, 12);
  });

  it('says in a sentence what it costs', () => {
    expect(needed(timeToSignal(scheme)).message).toBe(
      'After a shift this large, about 7192 parts are made in 7.99 hours before the chart signals; with nothing wrong it gives a false alarm about every 741 hours of running.',
    );
  });

  it('gives the chances that are asked for', () => {
    const { detectedWithin, detectionProbability } = needed(
      timeToSignal({ ...scheme, withinSamples: [1, 4] }),
    );
    expect(detectedWithin.map(({ samples }) => samples)).toEqual([1, 4]);
    expect(detectedWithin[0]!.probability).toBeCloseTo(detectionProbability, 14);
    expect(detectedWithin[1]!.probability).toBeCloseTo(1 - (1 - detectionProbability) ** 4, 14);
    const certain = needed(timeToSignal({ ...scheme, shift: 20, withinSamples: [1] }));
    expect(certain.detectedWithin[0]!.probability).toBe(1);
    expect(certain.averageHoursToSignal).toBe(1);
  });

  it.each([
    [{ shift: 21 }, 'out-of-range', 'scheme.shift'],
    [{ sampleSize: 0 }, 'out-of-range', 'scheme.sampleSize'],
    [{ sampleSize: 2.5 }, 'not-an-integer', 'scheme.sampleSize'],
    [{ intervalHours: 0 }, 'out-of-range', 'scheme.intervalHours'],
    [{ intervalHours: 1e5 }, 'out-of-range', 'scheme.intervalHours'],
    [{ partsPerHour: 0 }, 'out-of-range', 'scheme.partsPerHour'],
    [{ partsPerHour: 1e9 }, 'out-of-range', 'scheme.partsPerHour'],
    [{ multiple: 0 }, 'out-of-range', 'scheme.multiple'],
    [{ delayHours: -1 }, 'out-of-range', 'scheme.delayHours'],
    [{ withinSamples: [1, 0] }, 'out-of-range', 'scheme.withinSamples.1'],
    [{ withinSamples: Array(101).fill(1) }, 'out-of-range', 'scheme.withinSamples'],
  ])('refuses %o', (wrong, code, argument) => {
    expect(() => timeToSignal({ ...scheme, ...wrong })).toThrow(expect.objectContaining({ code, argument }));
  });
});

describe('sample size for a chance of detection', () => {
  it('is the smallest that gives it', () => {
    for (const [shift, probability] of [
      [0.5, 0.9],
      [-2, 0.999],
      [3, 0.1],
    ] as const) {
      const { sampleSize, detectionProbability } = needed(sampleSizeForDetection(shift, { probability }));
      const chance = (size: number) =>
        needed(timeToSignal({ ...scheme, shift, sampleSize: size })).detectionProbability;
      expect(detectionProbability).toBe(chance(sampleSize));
      expect(detectionProbability).toBeGreaterThanOrEqual(probability);
      if (sampleSize > 1) expect(chance(sampleSize - 1)).toBeLessThan(probability);
    }
  });

  it('does not exist for a shift too small', () => {
    expect(sampleSizeForDetection(0.001, { probability: 0.5 })).toMatchObject({ reason: 'not-reachable' });
  });

  it.each([
    [0, { probability: 0.5 }, 'shift'],
    [1, { probability: 1 }, 'options.probability'],
    [1, { probability: 0.5, multiple: 11 }, 'options.multiple'],
    [-21, { probability: 0.5 }, 'shift'],
  ])('refuses a shift of %d with %o', (shift, options, argument) => {
    expect(() => sampleSizeForDetection(shift, options)).toThrow(
      expect.objectContaining({ code: 'out-of-range', argument }),
    );
  });
});

describe('time of a shift within the interval', () => {
  // mpmath with 40 digits: h (1/x − 1/(eˣ − 1)), x = θh.
  it.each([
    [1, 0.25, 0.4791883358122015],
    [1, 0.1, 0.4916680552249504],
    [1, 0.0999, 0.4916763843974319],
    [2, 5, 0.1999091960179806],
    [8, 1e-9, 3.9999999946666667],
  ])('of %d hours at %d shifts an hour', (interval, shiftsPerHour, expected) => {
    expect(shiftWithinInterval(interval, { shiftsPerHour }) / expected).toBeCloseTo(1, 13);
  });

  it.each([
    [0, 1, 'intervalHours'],
    [2e6, 1, 'intervalHours'],
    [1, 0, 'options.shiftsPerHour'],
    [1, 2e6, 'options.shiftsPerHour'],
  ])('refuses %d hours at %d an hour', (interval, shiftsPerHour, argument) => {
    expect(() => shiftWithinInterval(interval, { shiftsPerHour })).toThrow(
      expect.objectContaining({ code: 'out-of-range', argument }),
    );
  });
});

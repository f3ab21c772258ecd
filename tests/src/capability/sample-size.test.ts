import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  attributeCapability,
  attributeSampleSize,
  estimateNeeded,
  indexSampleSize,
  oneSidedIndexInterval,
  toleranceIndexRatio,
} from '../../../src/index.ts';
import { found, refusal } from './outcomes.ts';

describe('indexSampleSize', () => {
  it('is the smallest size with the power', () => {
    const result = found(indexSampleSize({ trueIndex: 1.67, requiredIndex: 1.33 }));
    // scipy 1.17.1: nct.sf(nct.ppf(0.95, 94, 3 sqrt(95) 1.33), 94, 3 sqrt(95) 1.67) = 0.90239; 0.8981 at n = 94.
    expect(result).toMatchObject({ sampleSize: 95, index: 'one-sided' });
    expect(result.power).toBeCloseTo(0.90239, 5);
    expect(result.estimateNeeded).toBeCloseTo(estimateNeeded(1.33, { sampleSize: 95 }), 12);
    expect(oneSidedIndexInterval(result.estimateNeeded, { sampleSize: 95 }).lowerBound).toBeCloseTo(1.33, 9);
    expect(result.message).toContain('Measure 95 values');
  });

  it('falls with a better process, rises with confidence and power', () => {
    const size = (change: object) =>
      found(indexSampleSize({ trueIndex: 1.67, requiredIndex: 1.33, ...change })).sampleSize;
    expect(size({ trueIndex: 2 })).toBeLessThan(size({}));
    expect(size({ confidence: 0.99 })).toBeGreaterThan(size({}));
    expect(size({ power: 0.5 })).toBeLessThan(size({}));
    expect(size({ index: 'tolerance' })).toBeLessThan(size({}));
    expect(size({ trueIndex: 90, requiredIndex: 0.01 })).toBe(2);
  });

  it('says what cannot be reached', () => {
    expect(refusal(indexSampleSize({ trueIndex: 1.33, requiredIndex: 1.33 }))).toBe('not-reachable');
    expect(refusal(indexSampleSize({ trueIndex: 1.3301, requiredIndex: 1.33 }))).toBe('not-reachable');
  });

  it('refuses, naming the field', () => {
    const refuses = (options: object, code: string, argument: string) =>
      expect(() => indexSampleSize({ trueIndex: 2, requiredIndex: 1, ...options })).toThrow(
        expect.objectContaining({ code, argument }),
      );
    refuses({ trueIndex: Number.NaN }, 'not-finite', 'options.trueIndex');
    refuses({ requiredIndex: 101 }, 'out-of-range', 'options.requiredIndex');
    refuses({ index: 'tolerance', requiredIndex: 0 }, 'out-of-range', 'options.requiredIndex');
    refuses({ index: 'cpk' }, 'unknown-name', 'options.index');
    refuses({ confidence: 0.4 }, 'out-of-range', 'options.confidence');
    refuses({ power: 1 }, 'out-of-range', 'options.power');
  });
});

describe('toleranceIndexRatio', () => {
  it('agrees with indexSampleSize', () => {
    const { sampleSize } = found(
      indexSampleSize({ trueIndex: 1.8, requiredIndex: 1.2, index: 'tolerance', power: 0.8 }),
    );
    expect(toleranceIndexRatio({ sampleSize, power: 0.8 })).toBeLessThanOrEqual(1.5);
    expect(toleranceIndexRatio({ sampleSize: sampleSize - 1, power: 0.8 })).toBeGreaterThan(1.5);
  });
  it('refuses, naming the field', () => {
    expect(() => toleranceIndexRatio({ sampleSize: 1 })).toThrow(
      expect.objectContaining({ argument: 'options.sampleSize' }),
    );
    expect(() => toleranceIndexRatio({ sampleSize: 9, power: 1 })).toThrow(
      expect.objectContaining({ argument: 'options.power' }),
    );
  });
});

describe('attributeCapability', () => {
  const stability = { points: 25, signals: 0, expectedFalseSignals: 0.07 };

  it('has only a bound without a nonconforming part', () => {
    const { equivalentIndex, fractionNonconforming, verdict } = found(
      attributeCapability({ nonconforming: 0, inspected: 3000 }, { stability, requiredIndex: 1 }),
    );
    // 1 − 0.05^(1/3000), the rule of three.
    expect(fractionNonconforming).toMatchObject({ estimate: 0, lower: 0, lowerBound: 0 });
    expect(fractionNonconforming.upperBound).toBeCloseTo(9.98079e-4, 9);
    expect(equivalentIndex).toMatchObject({ estimate: null, upper: null, upperBound: null });
    expect(verdict).toMatchObject({ level: 'proven', doubts: [] });
    expect(verdict.sentence).toMatch(
      /^Proven: the equivalent index from 3000 parts, with 95 % confidence at least 1.03/,
    );
  });

  it('gives each level of verdict, and none without a chart', () => {
    const level = (nonconforming: number, options: object) =>
      found(attributeCapability({ nonconforming, inspected: 5000 }, options)).verdict.level;
    expect(level(2, { stability, requiredIndex: 1 })).toBe('proven');
    expect(level(2, { stability, requiredIndex: 1.1 })).toBe('not-proven');
    expect(level(2, { stability })).toBe('disproven');
    expect(level(2, {})).toBe('not-to-be-quoted');
    expect(level(2, { stability: { ...stability, signals: 5 } })).toBe('not-to-be-quoted');
  });

  it('bounds the fraction at least as often as it says, whatever it is', () => {
    // Exact: the sum of the binomial probabilities of the counts whose bound is not below the true fraction.
    for (const [n, p] of [
      [50, 0.1],
      [200, 0.04],
      [30, 0.5],
    ] as const) {
      let probability = (1 - p) ** n;
      let covered = 0;
      for (let x = 0; x < n; x++) {
        const { upperBound } = found(
          attributeCapability({ nonconforming: x, inspected: n }),
        ).fractionNonconforming;
        if (upperBound >= p) covered += probability;
        probability *= (((n - x) / (x + 1)) * p) / (1 - p);
      }
      expect(covered + p ** n).toBeGreaterThanOrEqual(0.95);
      expect(covered).toBeLessThan(0.999);
    }
  });

  it('has no index where every part is nonconforming, and refuses counts that are none', () => {
    expect(refusal(attributeCapability({ nonconforming: 4, inspected: 4 }))).toBe('outside-method');
    const refuses = (count: { nonconforming: number; inspected: number }, code: string, argument: string) =>
      expect(() => attributeCapability(count)).toThrow(expect.objectContaining({ code, argument }));
    refuses({ nonconforming: 5, inspected: 4 }, 'out-of-range', 'count.nonconforming');
    refuses({ nonconforming: 0.5, inspected: 4 }, 'not-an-integer', 'count.nonconforming');
    refuses({ nonconforming: 0, inspected: 0 }, 'out-of-range', 'count.inspected');
  });
});

describe('attributeSampleSize', () => {
  it('proves with just as many as it says', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 400 }),
        fc.integer({ min: 0, max: 4 }),
        (thousandths, allowed) => {
          const fraction = thousandths / 1000;
          const { sampleSize } = found(attributeSampleSize(fraction, { allowedNonconforming: allowed }));
          const bound = (inspected: number) =>
            found(attributeCapability({ nonconforming: allowed, inspected })).fractionNonconforming
              .upperBound;
          expect(bound(sampleSize)).toBeLessThanOrEqual(fraction * (1 + 1e-9));
          if (sampleSize - 1 > allowed) expect(bound(sampleSize - 1)).toBeGreaterThan(fraction * (1 - 1e-9));
        },
      ),
      { numRuns: 60 },
    );
  });
  it('says what takes too many, and refuses, naming the field', () => {
    expect(refusal(attributeSampleSize(1e-10))).toBe('not-reachable');
    expect(() => attributeSampleSize(0)).toThrow(expect.objectContaining({ argument: 'largestFraction' }));
    expect(() => attributeSampleSize(0.1, { allowedNonconforming: 1001 })).toThrow(
      expect.objectContaining({ argument: 'options.allowedNonconforming' }),
    );
    expect(found(attributeSampleSize(0.001)).message).toContain('2995 parts in a row');
  });
});

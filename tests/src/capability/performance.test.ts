import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  bootstrapIndex,
  distributionPerformance,
  machinePerformance,
  oneSidedIndexInterval,
  percentileIndices,
  performanceOfParts,
  streamPerformance,
  timeDependentModel,
} from '../../../src/index.ts';
import { randomSource } from '../../../src/numerics/random.ts';
import { found, refusal } from './outcomes.ts';

const normals = (seed: number, n: number, mean = 0, deviation = 1) => {
  const random = randomSource(seed);
  return Array.from({ length: n }, () => mean + deviation * random.normal());
};
const subgroupsOf = (values: readonly number[]) =>
  Array.from({ length: values.length / 5 }, (_, k) => values.slice(5 * k, 5 * k + 5));
const limits = { lowerSpecificationLimit: -5, upperSpecificationLimit: 4 };
const upperOnly = { lowerSpecificationLimit: null, upperSpecificationLimit: 4 };
const stability = { points: 25, signals: 0, expectedFalseSignals: 0.07 };
const mirrored = { lowerSpecificationLimit: -4, upperSpecificationLimit: 5 };
const reasons = (doubts: readonly { readonly reason: string }[]) => doubts.map(({ reason }) => reason);
const shifted = (factor: number, by: number) => ({
  lowerSpecificationLimit: factor * -5 + by,
  upperSpecificationLimit: factor * 4 + by,
});

describe('bootstrapIndex', () => {
  const subgroups = subgroupsOf(normals(1, 60));
  const options = { method: 'pooled', resamples: 200, bootstrap: 'BCa' } as const;
  it('stands beside the formulas', () => {
    const index = found(bootstrapIndex(subgroups, limits, options));
    expect(index).toMatchObject({ index: 'cpk', method: 'BCa bootstrap', exact: false, sampleSize: 60 });
    expect(index.byFormula.method).toBe('Bissell');
    const exact = oneSidedIndexInterval(index.estimate, { sampleSize: 60, degreesOfFreedom: 48 });
    expect(index.guaranteedLowerBound).toBe(exact.lowerBound);
    expect(index.lowerBound).toBeLessThan(index.estimate);
    expect(index.upperBound).toBeGreaterThan(index.estimate);
    const cp = found(bootstrapIndex(subgroups, limits, { ...options, index: 'pp', bootstrap: 'percentile' }));
    expect(cp).toMatchObject({ guaranteedLowerBound: null, method: 'percentile bootstrap' });
    expect(found(bootstrapIndex(subgroups, limits, options))).toEqual(index);
  });
  it('does not change with unit or origin, and swaps the sides in a mirror', () => {
    const one = found(bootstrapIndex(subgroups, limits, { ...options, index: 'ppu' }));
    const moved = subgroups.map((subgroup) => subgroup.map((value) => 1000 * value + 7));
    const other = found(bootstrapIndex(moved, shifted(1000, 7), { ...options, index: 'ppu' }));
    expect(other.lowerBound).toBeCloseTo(one.lowerBound, 8);
    const turned = subgroups.map((subgroup) => subgroup.map((value) => -value));
    const swapped = found(bootstrapIndex(turned, mirrored, { ...options, index: 'ppl' }));
    expect(swapped.lowerBound).toBeCloseTo(one.lowerBound, 8);
  });
  it('names what has no answer, and refuses, naming the field', () => {
    expect(refusal(bootstrapIndex(subgroups, upperOnly, { ...options, index: 'cp' }))).toBe(
      'one-sided-specification',
    );
    expect(refusal(bootstrapIndex([[1, 2, 3]], limits, options))).toBe('too-few-values');
    const alike = [Array<number>(9).fill(1), [1, 2]];
    expect(refusal(bootstrapIndex(alike, limits, { ...options, index: 'ppk' }))).toBe('no-variation');
    const refuses = (change: object, argument: string) =>
      expect(() => bootstrapIndex(subgroups, limits, { ...options, ...change })).toThrow(
        expect.objectContaining({ argument }),
      );
    refuses({ index: 'cpm' }, 'options.index');
    refuses({ bootstrap: 'basic' }, 'options.bootstrap');
    refuses({ resamples: 99 }, 'options.resamples');
    refuses({ resamples: 150, confidence: 0.99 }, 'options.resamples');
    refuses({ seed: Number.NaN }, 'options.seed');
  });
});

describe('distributionPerformance', () => {
  const runout = normals(2, 50).map((z) => Math.exp(0.4 * z));
  const specification = { lowerSpecificationLimit: null, upperSpecificationLimit: 6 };
  const options = { distribution: 'lognormal', resamples: 200, stability } as const;
  it('takes the percentiles of the fit', () => {
    const result = found(distributionPerformance(runout, specification, options));
    const indices = found(percentileIndices(result.fitted.quantiles, specification));
    expect(result.ppk.estimate).toBeCloseTo(indices.smallest, 12);
    expect(result).toMatchObject({ pp: null, ppl: null, note: null, resamplesUsed: 200, sampleSize: 50 });
    expect(result.ppk.lowerBound).toBeLessThan(result.ppk.estimate);
    expect(result.expectedNonconforming.total).toBe(result.expectedNonconforming.above);
    expect(result.verdict.doubts).toEqual([]);
  });
  it('is near the exact bound for a normal distribution', () => {
    const values = normals(3, 60);
    const result = found(
      distributionPerformance(values, upperOnly, { distribution: 'normal', resamples: 2000 }),
    );
    const estimate = result.ppk.estimate * Math.sqrt(59 / 60);
    // Simulation error of a 5 % quantile of 2000 draws, about 0.006.
    expect(result.ppk.lowerBound).toBeCloseTo(
      oneSidedIndexInterval(estimate, { sampleSize: 60 }).lowerBound,
      1,
    );
  });
  it('does not change with the unit, and rises with the limit', () => {
    const bound = (factor: number, limit: number) =>
      found(
        distributionPerformance(
          runout.map((value) => factor * value),
          { lowerSpecificationLimit: null, upperSpecificationLimit: factor * limit },
          options,
        ),
      ).ppk.lowerBound;
    expect(bound(1000, 6)).toBeCloseTo(bound(1, 6), 8);
    expect(bound(1, 7)).toBeGreaterThan(bound(1, 6));
  });
  it('says when the shape does not fit, and which bounds fall short', () => {
    const wrong = found(
      distributionPerformance(runout, specification, { ...options, distribution: 'exponential' }),
    );
    expect(reasons(wrong.verdict.doubts)).toEqual(['not-fitting']);
    const folded = found(
      distributionPerformance(runout, specification, { ...options, distribution: 'folded-normal' }),
    );
    expect(folded.note).toContain('87 to 91');
    expect(refusal(distributionPerformance(runout.slice(0, 9), specification, options))).toBe(
      'too-few-values',
    );
    expect(() =>
      distributionPerformance(runout, specification, { ...options, distribution: 'cauchy' as never }),
    ).toThrow(expect.objectContaining({ argument: 'options.distribution' }));
  });
});

describe('performanceOfParts', () => {
  const values = normals(4, 60);
  const options = { gaugeStandardDeviation: 0.3, gaugeDegreesOfFreedom: 40, resamples: 400, stability };
  it('takes the variance of the gauge off', () => {
    const result = found(performanceOfParts(values, limits, options));
    expect(result.partsStandardDeviation ** 2 + 0.09).toBeCloseTo(result.observedStandardDeviation ** 2, 12);
    expect(result.gaugeShare).toBeCloseTo(0.09 / result.observedStandardDeviation ** 2, 12);
    expect(result.ppk.estimate).toBeGreaterThan(result.observedPpk);
    expect(result.ppk.estimate).toBe(Math.min(result.ppl!.estimate, result.ppu!.estimate));
    expect(result.partsStandardDeviationUpperBound).toBeGreaterThan(result.partsStandardDeviation);
    const known = found(performanceOfParts(values, limits, { ...options, gaugeDegreesOfFreedom: null }));
    const vague = found(performanceOfParts(values, limits, { ...options, gaugeDegreesOfFreedom: 12 }));
    expect(vague.ppk.upper! - vague.ppk.lower).toBeGreaterThan(known.ppk.upper! - known.ppk.lower);
    const moved = values.map((value) => 1000 * value + 7);
    const other = found(
      performanceOfParts(moved, shifted(1000, 7), { ...options, gaugeStandardDeviation: 300 }),
    );
    expect(other.ppk.lowerBound).toBeCloseTo(result.ppk.lowerBound, 8);
  });
  it('says when the gauge explains all, and how much the parts may still vary', () => {
    const result = performanceOfParts(values, limits, { ...options, gaugeStandardDeviation: 1.1 });
    expect(result).toMatchObject({ available: false, reason: 'no-variation' });
    expect(result.available ? '' : result.message).toMatch(/standard deviation is at most \d/);
    expect(refusal(performanceOfParts([1, 2], limits, options))).toBe('too-few-values');
    expect(() => performanceOfParts(values, limits, { ...options, gaugeStandardDeviation: 0 })).toThrow(
      expect.objectContaining({ argument: 'options.gaugeStandardDeviation' }),
    );
  });
});

describe('streamPerformance', () => {
  const streams = [0, 0.2, 1.5].map((mean, k) => ({
    name: `die ${k + 1}`,
    values: normals(k + 1, 40, mean),
  }));
  const options = { resamples: 100, stability };
  it('keeps the streams apart and names the worst', () => {
    const result = found(streamPerformance(streams, limits, options));
    expect(result).toMatchObject({ worst: 'die 3', sampleSize: 120 });
    expect(result.verdict.sentence).toContain('die 3');
    expect(result.message).toContain('differ in level');
    const bounds = result.streams.map(({ ppk }) => ppk.lowerBound);
    expect(result.worstLowerBound).toBe(Math.min(...bounds));
    const mean = result.streams.reduce((sum, one) => sum + one.expectedNonconforming.above! / 3, 0);
    expect(result.mixture.expectedNonconforming.above).toBeCloseTo(mean, 12);
    expect(result.mixture.ppk.estimate).toBeGreaterThan(result.streams[2]!.ppk.estimate);
    const [nearly] = [found(streamPerformance(streams, limits, { ...options, shares: [1, 1, 1e9] }))];
    expect(nearly!.mixture.ppk.estimate).toBeCloseTo(result.streams[2]!.ppk.estimate, 4);
  });
  it('refuses, naming the field', () => {
    const refuses = (given: typeof streams, argument: string, change: object = {}) =>
      expect(() => streamPerformance(given, limits, { ...options, ...change })).toThrow(
        expect.objectContaining({ argument }),
      );
    refuses([], 'streams');
    refuses(streams.slice(0, 1), 'streams');
    refuses(streams.with(1, streams[0]!), 'streams.1.name');
    refuses(streams.with(1, { name: 'x', values: [1] }), 'streams.1.values');
    refuses(streams, 'options.shares', { shares: [1] });
    refuses(streams, 'options.shares.1', { shares: [1, 0, 1] });
    expect(refusal(streamPerformance(streams.with(1, { name: 'x', values: [1, 1] }), limits))).toBe(
      'no-variation',
    );
  });
});

describe('machinePerformance', () => {
  const values = normals(6, 120);
  it('quotes Pm and Pmk, warns on few parts, and never says capable', () => {
    const result = found(machinePerformance(values, limits));
    expect(result.pm).toMatchObject({ exact: true, method: 'chi-square', sampleSize: 120 });
    expect(result.pmk).toMatchObject({ exact: false, method: 'Bissell' });
    expect(result.warnings).toEqual([]);
    expect(JSON.stringify(result)).not.toMatch(/capab/i);
    const sentence = (n: number) =>
      found(machinePerformance(values.slice(0, n), limits)).warnings[0]!.sentence;
    expect(sentence(49)).toContain('fewer than the 50');
    expect(sentence(50)).toContain('fewer than the usual 100');
    expect(refusal(machinePerformance(values.slice(0, 29), limits))).toBe('too-few-values');
    expect(refusal(machinePerformance(Array(50).fill(3), limits))).toBe('no-variation');
  });
  it('gives no verdict on a run that drifts, jumps or is not normal', () => {
    const of = (run: readonly number[]) => reasons(found(machinePerformance(run, limits)).verdict.doubts);
    expect(of(values)).toEqual([]);
    expect(of(values.map((value, k) => value + k / 60))).toContain('trend');
    expect(of(values.map((value, k) => value + 2 * Math.sin(k / 6)))).toContain('trend');
    expect(of(values.map((value) => Math.exp(value)))).toEqual(['not-normal']);
  });
});

describe('timeDependentModel', () => {
  const random = randomSource(9);
  const process = (level: (k: number) => number, spread: (k: number) => number = () => 1) =>
    Array.from({ length: 25 }, (_, k) => {
      const mean = level(k);
      return Array.from({ length: 5 }, () => mean + spread(k) * random.normal());
    });
  const options = { resamples: 100 };
  const of = (subgroups: number[][]) => found(timeDependentModel(subgroups, limits, options));
  it('recognises a process at rest', () => {
    const still = of(process(() => 0));
    expect(still).toMatchObject({ model: 'A1', stable: true, location: 'constant', spread: 'constant' });
    expect(found(still.performance!)).toMatchObject({ distribution: 'normal', ppk: { sampleSize: 125 } });
  });
  it('recognises levels that move at random', () => {
    const moving = of(process(() => 1.5 * random.normal()));
    expect(moving).toMatchObject({ model: 'C1', stable: false, location: 'random' });
  });
  it('recognises wear', () => {
    const wear = of(process((k) => 0.15 * k));
    expect(wear).toMatchObject({ model: 'C3', location: 'systematic' });
    expect(found(wear.performance!).method).toBe('percentiles of the mixture of the levels');
  });
  it('recognises wear with levels that move at random', () => {
    expect(of(process((k) => 0.2 * k + random.normal()))).toMatchObject({
      model: 'C4',
      location: 'systematic and random',
    });
  });
  it('recognises levels that are not normal', () => {
    expect(of(process(() => (random.uniform() < 0.8 ? 0 : 5))).model).toBe('C2');
  });
  it('recognises a spread that moves as well', () => {
    const level = (k: number) => 0.3 * k;
    const spread = (k: number) => (k % 5 === 0 ? 4 : 1);
    expect(timeDependentModel(process(level, spread), null)).toMatchObject({ model: 'D', performance: null });
  });
  it('does not change with unit or origin', () => {
    const subgroups = process((k) => 0.1 * k);
    const moved = subgroups.map((subgroup) => subgroup.map((value) => 1000 * value + 7));
    const one = found(timeDependentModel(subgroups, null));
    const other = found(timeDependentModel(moved, null));
    expect(other.model).toBe(one.model);
    one.tests.forEach(({ pValue }, place) => {
      expect(other.tests[place]!.pValue).toBeCloseTo(pValue, 8);
    });
  });
  it('names what has no answer', () => {
    expect(refusal(timeDependentModel(process(() => 0).slice(0, 9), null))).toBe('too-few-values');
    expect(refusal(timeDependentModel(Array(12).fill([1, 1, 1]), null))).toBe('no-variation');
    expect(() => timeDependentModel([], null)).toThrow(expect.objectContaining({ argument: 'subgroups' }));
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 24 }), (place) => {
        expect(() => timeDependentModel(process(() => 0).with(place, [1, Number.NaN]), null)).toThrow(
          expect.objectContaining({ argument: `subgroups.${place}.1` }),
        );
      }),
      { numRuns: 5 },
    );
  });
});

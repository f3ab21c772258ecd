import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { degreesOfFreedom } from '../../../src/capability/degrees-of-freedom.ts';
import {
  type Capability,
  type CapabilityIndex,
  type CapabilityOptions,
  capability,
  estimateNeeded,
  estimateStandard,
  oneSidedIndexInterval,
  percentileIndices,
  type SpecificationLimits,
  smallestIndexInterval,
  subgroupStatistics,
  targetIndexInterval,
  toleranceIndexInterval,
} from '../../../src/index.ts';
import { seededNormal } from './random.ts';

const computed = (
  subgroups: (number | null)[][],
  specification: SpecificationLimits,
  options: CapabilityOptions = { method: 'pooled' },
): Capability => {
  const result = capability(subgroups, specification, options);
  if (!result.available) throw new Error(result.message);
  return result;
};
const names = ['cp', 'cpl', 'cpu', 'cpk', 'pp', 'ppl', 'ppu', 'ppk', 'cpm'] as const;
const present = (result: Capability) =>
  names.flatMap((name): (readonly [string, CapabilityIndex])[] => {
    const index = result[name];
    return index === null ? [] : [[name, index]];
  });

/** Subgroups in hundredths of a millimetre around 10 mm, never all alike. */
const someSubgroups = fc
  .array(fc.array(fc.integer({ min: 950, max: 1050 }), { minLength: 3, maxLength: 3 }), {
    minLength: 2,
    maxLength: 6,
  })
  .filter((subgroups) => subgroups.some((subgroup) => new Set(subgroup).size > 1))
  .map((subgroups) => subgroups.map((subgroup) => subgroup.map((value) => value / 100)));
const limits = { lowerSpecificationLimit: 9, upperSpecificationLimit: 11.5, target: 10 };

describe('capability', () => {
  it('gives every index with n, bounds and method, none of them NaN', () => {
    fc.assert(
      fc.property(someSubgroups, (subgroups) => {
        const result = computed(subgroups, limits);
        expect(present(result)).toHaveLength(9);
        for (const [, index] of present(result)) {
          for (const value of [index.estimate, index.lower, index.upper, index.lowerBound, index.upperBound])
            expect(Number.isFinite(value)).toBe(true);
          expect(index.sampleSize).toBe(subgroups.length * 3);
          expect(index.lower).toBeLessThanOrEqual(index.lowerBound);
          expect(index.lowerBound).toBeLessThanOrEqual(index.estimate);
          expect(index.estimate).toBeLessThanOrEqual(index.upperBound);
          expect(index.upperBound).toBeLessThanOrEqual(index.upper);
        }
      }),
      { numRuns: 10 },
    );
  });

  it('does not change with the unit or the origin', () => {
    fc.assert(
      fc.property(someSubgroups, (subgroups) => {
        const expected = present(computed(subgroups, limits));
        for (const [factor, shift] of [
          [1000, 0],
          [1 / 25.4, 0],
          [1, 250],
          [1, -37],
        ] as const) {
          const moved = (value: number) => value * factor + shift;
          const result = computed(
            subgroups.map((subgroup) => subgroup.map(moved)),
            { lowerSpecificationLimit: moved(9), upperSpecificationLimit: moved(11.5), target: moved(10) },
          );
          present(result).forEach(([name, index], position) => {
            expect(name).toBe(expected[position]![0]);
            const relative = Math.max(1, Math.abs(expected[position]![1].estimate));
            expect(Math.abs(index.estimate - expected[position]![1].estimate) / relative).toBeLessThan(1e-9);
            expect(Math.abs(index.lowerBound - expected[position]![1].lowerBound) / relative).toBeLessThan(
              1e-8,
            );
          });
        }
      }),
      { numRuns: 10 },
    );
  });

  it('swaps the sides in a mirror', () => {
    fc.assert(
      fc.property(someSubgroups, (subgroups) => {
        const one = computed(subgroups, limits);
        const mirrored = computed(
          subgroups.map((subgroup) => subgroup.map((value) => -value)),
          { lowerSpecificationLimit: -11.5, upperSpecificationLimit: -9, target: -10 },
        );
        const same = (a: CapabilityIndex | null, b: CapabilityIndex | null) => {
          expect(a!.estimate).toBeCloseTo(b!.estimate, 9);
          expect(a!.lowerBound).toBeCloseTo(b!.lowerBound, 8);
        };
        same(one.cpl, mirrored.cpu);
        same(one.cpu, mirrored.cpl);
        same(one.ppl, mirrored.ppu);
        same(one.cpk, mirrored.cpk);
        same(one.cpm, mirrored.cpm);
        expect(one.expectedWithin.below).toBeCloseTo(mirrored.expectedWithin.above!, 12);
        expect(one.observedBelow).toBe(mirrored.observedAbove);
      }),
      { numRuns: 10 },
    );
  });

  it('rises when the limits widen, and fewer parts are expected outside', () => {
    fc.assert(
      fc.property(someSubgroups, fc.integer({ min: 1, max: 100 }), (subgroups, hundredths) => {
        const wider = hundredths / 100;
        const narrow = computed(subgroups, { lowerSpecificationLimit: 9, upperSpecificationLimit: 11 });
        const wide = computed(subgroups, {
          lowerSpecificationLimit: 9 - wider,
          upperSpecificationLimit: 11 + wider,
        });
        for (const name of ['cp', 'cpl', 'cpu', 'cpk', 'pp', 'ppk'] as const) {
          expect(wide[name]!.estimate).toBeGreaterThan(narrow[name]!.estimate);
          expect(wide[name]!.lowerBound).toBeGreaterThan(narrow[name]!.lowerBound);
        }
        expect(wide.expectedOverall.total).toBeLessThan(narrow.expectedOverall.total);
      }),
      { numRuns: 10 },
    );
  });

  const subgroups = [
    [0.12, 0.15, 0.11],
    [0.16, 0.13, 0.14],
    [0.1, 0.14, 0.17],
  ];

  it('gives Cpm the same bounds wherever zero lies', () => {
    const data = [
      [9.9, 10.1, 10.3],
      [10, 10.2, 9.8],
      [10.4, 10, 10.1],
    ];
    const at = (zero: number) =>
      computed(
        data.map((subgroup) => subgroup.map((value) => value + zero)),
        { lowerSpecificationLimit: 9 + zero, upperSpecificationLimit: 11 + zero, target: 10.1 + zero },
      ).cpm!;
    expect(at(-500).estimate).toBeCloseTo(at(0).estimate, 9);
    expect(at(-500).lowerBound).toBeCloseTo(at(0).lowerBound, 9);
    expect(at(-500).upperBound).toBeCloseTo(at(0).upperBound, 9);
    expect(at(0)).toMatchObject({ standardDeviation: 'overall', sampleSize: 9 });
  });

  it('has no Cpm about a target that lies on a limit, and says so', () => {
    // Hub bore 80 +0.15/0 mm: the nominal is the lower limit.
    const bore = [
      [80.07, 80.08],
      [80.06, 80.075],
    ];
    const cpmOf = (target: number | null, upper: number | null = 80.15) => {
      const result = capability(
        bore,
        { lowerSpecificationLimit: 80, upperSpecificationLimit: upper, target },
        { method: 'pooled' },
      );
      if (!result.available) throw new Error(result.message);
      expect(result.cpm === null).toBe(result.cpmUnavailable !== null);
      return result.cpmUnavailable;
    };
    expect(cpmOf(80)).toBe('target-on-limit');
    expect(cpmOf(80.15)).toBe('target-on-limit');
    expect(cpmOf(80.075)).toBeNull();
    expect(cpmOf(null)).toBe('no-target');
    expect(cpmOf(80.075, null)).toBe('limit-missing');
  });

  it('has no Cp with one limit, and a natural bound is no limit', () => {
    const oneSided = computed(subgroups, { lowerSpecificationLimit: null, upperSpecificationLimit: 0.25 });
    expect(oneSided).toMatchObject({ cp: null, cpl: null, pp: null, ppl: null, cpm: null });
    expect(oneSided.cpk).toEqual(oneSided.cpu);
    expect(oneSided.cpk.method).toBe('noncentral t');
    const drawnFromZero = computed(subgroups, {
      lowerSpecificationLimit: 0,
      upperSpecificationLimit: 0.25,
      lowerNaturalBound: 0,
    });
    expect(drawnFromZero).toEqual(oneSided);
    expect(drawnFromZero.expectedWithin.below).toBeNull();
    const upperBounded = computed(subgroups, {
      lowerSpecificationLimit: 0.05,
      upperSpecificationLimit: 1,
      upperNaturalBound: 1,
    });
    expect(upperBounded).toMatchObject({ cp: null, cpu: null, upperSpecificationLimit: null });
  });

  it('says which bounds are exact', () => {
    const pooled = computed(subgroups, { lowerSpecificationLimit: 0, upperSpecificationLimit: 0.3 });
    expect(pooled.cp).toMatchObject({ exact: true, method: 'chi-square', degreesOfFreedom: 6 });
    expect(pooled.pp).toMatchObject({ exact: true, degreesOfFreedom: 8, standardDeviation: 'overall' });
    expect(pooled.cpk).toMatchObject({ exact: false, method: 'Bissell' });
    const ranges = computed(subgroups, limitsOf(0, 0.3), { method: 'range' });
    expect(ranges.cp).toMatchObject({ exact: false, standardDeviation: 'within-subgroup' });
    // Duncan, Quality Control and Industrial Statistics, table D3: 5.7 degrees for 3 ranges of 3 (from memory).
    expect(ranges.cp!.degreesOfFreedom).toBeCloseTo(5.7, 1);
  });

  it('names what has no answer', () => {
    const reason = (data: (number | null)[][], specification: SpecificationLimits) => {
      const result = capability(data, specification, { method: 'pooled' });
      return result.available ? null : result.reason;
    };
    expect(reason([[1]], limitsOf(0, 2))).toBe('too-few-values');
    expect(reason([[null]], limitsOf(0, 2))).toBe('too-few-values');
    expect(reason([[1], [2], [3]], limitsOf(0, 2))).toBe('too-few-values');
    expect(
      reason(
        [
          [1, 1],
          [1, 1],
        ],
        limitsOf(0, 2),
      ),
    ).toBe('no-variation');
    expect(
      reason(
        [
          [1, 1],
          [1.5, 1.5],
        ],
        limitsOf(0, 2),
      ),
    ).toBe('no-variation');
    expect(reason(subgroups, limitsOf(null, null))).toBe('no-specification-limit');
    expect(reason(subgroups, { ...limitsOf(0, null), lowerNaturalBound: 0 })).toBe('no-specification-limit');
  });

  it('refuses what is no specification or no data, naming the field', () => {
    const refuses = (
      specification: SpecificationLimits,
      code: string,
      argument: string,
      data: (number | null)[][] = subgroups,
      options: CapabilityOptions = { method: 'pooled' },
    ) =>
      expect(() => capability(data, specification, options)).toThrow(
        expect.objectContaining({ code, argument }),
      );
    refuses(limitsOf(2, 1), 'limits-reversed', 'specification.upperSpecificationLimit');
    refuses(limitsOf(1, 1), 'limits-reversed', 'specification.upperSpecificationLimit');
    refuses(limitsOf(Number.NaN, 1), 'not-finite', 'specification.lowerSpecificationLimit');
    refuses({ ...limitsOf(0, 1), target: 2 }, 'target-outside', 'specification.target');
    refuses(
      { ...limitsOf(0, 1), lowerNaturalBound: 3, upperNaturalBound: 2 },
      'limits-reversed',
      'specification.upperNaturalBound',
    );
    refuses(limitsOf(0, 1), 'empty', 'subgroups', []);
    refuses(limitsOf(0, 1), 'not-finite', 'subgroups.0.1', [[1, Number.NaN]]);
    refuses(limitsOf(0, 1), 'out-of-range', 'options.confidence', subgroups, {
      method: 'pooled',
      confidence: 95,
    });
  });

  it('stays finite next to no variation', () => {
    const result = computed(
      [
        [5, 5, 5],
        [5, 5.000000001, 5],
      ],
      limitsOf(-1000, 1000),
    );
    for (const [, index] of present(result)) expect(Number.isFinite(index.lowerBound)).toBe(true);
    expect(result.expectedWithin).toEqual({ below: 0, above: 0, total: 0 });
  });
});

describe('bounds of indices, by simulation', () => {
  const runs = 4000;
  /** Share of runs in which the lower bound lies below the true index. Its standard error is 0.0035. */
  const coverage = (seed: number, bound: (sample: number[][]) => { bound: number; truth: number }) => {
    const normal = seededNormal(seed);
    let covered = 0;
    for (let run = 0; run < runs; run++) {
      const sample = Array.from({ length: 10 }, () => Array.from({ length: 5 }, normal));
      const result = bound(sample);
      if (result.bound <= result.truth) covered++;
    }
    return covered / runs;
  };

  const moments = (sample: number[][]) => {
    const { mean, standardDeviation } = subgroupStatistics(sample.flat());
    return { mean: mean!, deviation: standardDeviation! };
  };
  const sampleSize = 50;

  it('covers as often as it says for Cp', () => {
    const share = coverage(1, (sample) => ({
      bound: toleranceIndexInterval(4 / 3 / moments(sample).deviation, { sampleSize }).lowerBound,
      truth: 4 / 3,
    }));
    expect(Math.abs(share - 0.95)).toBeLessThan(0.012);
  });

  it('covers nearly as often as it says for Cpk, off centre by one standard deviation', () => {
    const share = coverage(2, (sample) => {
      const { mean, deviation } = moments(sample);
      const estimate = Math.min(3 - mean, 5 + mean) / (3 * deviation);
      return { bound: smallestIndexInterval(estimate, { sampleSize }).lowerBound, truth: 1 };
    });
    expect(Math.abs(share - 0.95)).toBeLessThan(0.02);
  });

  it('covers nearly as often as it says for Cpm, off target by half a standard deviation', () => {
    const share = coverage(3, (sample) => {
      const { mean, deviation } = moments(sample);
      const estimate = 8 / (6 * Math.hypot(deviation, mean + 0.5));
      return {
        bound: targetIndexInterval(estimate, (mean + 0.5) / deviation, { sampleSize }).lowerBound,
        truth: 8 / (6 * Math.sqrt(1.25)),
      };
    });
    expect(Math.abs(share - 0.95)).toBeLessThan(0.02);
  });

  it('covers as often as it says for a one-sided index of ten readings', () => {
    // The bound grows with the estimate, so it lies below 1 just when the estimate lies below the one whose bound is 1.
    const needed = estimateNeeded(1, { sampleSize: 10 });
    expect(oneSidedIndexInterval(needed, { sampleSize: 10 }).lowerBound).toBeCloseTo(1, 9);
    const share = coverage(4, (sample) => {
      const { mean, deviation } = moments(sample.slice(0, 2));
      return { bound: (3 - mean) / (3 * deviation), truth: needed };
    });
    expect(Math.abs(share - 0.95)).toBeLessThan(0.012);
  });

  it.each(['range', 'standard-deviation', 'pooled', 'moving-range'] as const)(
    'covers as often as it says with the degrees of freedom of method %s',
    (method) => {
      const share = coverage(5, (sample) => {
        const entries = method === 'moving-range' ? sample.flat().map((value) => [value]) : sample;
        const statistics = entries.map(subgroupStatistics);
        const result = estimateStandard(statistics, { method });
        if (!result.available) throw new Error(result.message);
        const estimate = 4 / 3 / result.standard.withinSubgroupStandardDeviation;
        const freedom = degreesOfFreedom(statistics, method);
        return {
          bound: toleranceIndexInterval(estimate, { sampleSize, degreesOfFreedom: freedom }).lowerBound,
          truth: 4 / 3,
        };
      });
      expect(Math.abs(share - 0.95)).toBeLessThan(0.015);
    },
  );
});

describe('intervals', () => {
  it('finds the estimate whose bound is just the required index', () => {
    for (const sampleSize of [5, 30, 125, 2000]) {
      const needed = estimateNeeded(1.33, { sampleSize });
      expect(oneSidedIndexInterval(needed, { sampleSize }).lowerBound).toBeCloseTo(1.33, 9);
    }
  });

  it('refuses what it cannot bound, naming the field', () => {
    const refuses = (work: () => unknown, code: string, argument: string) =>
      expect(work).toThrow(expect.objectContaining({ code, argument }));
    refuses(() => toleranceIndexInterval(Number.NaN, { sampleSize: 10 }), 'not-finite', 'estimate');
    refuses(() => toleranceIndexInterval(1e13, { sampleSize: 10 }), 'out-of-range', 'estimate');
    refuses(() => toleranceIndexInterval(1, { sampleSize: 1 }), 'out-of-range', 'options.sampleSize');
    refuses(
      () => toleranceIndexInterval(1, { sampleSize: 9, confidence: 1 }),
      'out-of-range',
      'options.confidence',
    );
    refuses(
      () => oneSidedIndexInterval(1, { sampleSize: 9, degreesOfFreedom: 0 }),
      'out-of-range',
      'options.degreesOfFreedom',
    );
    refuses(
      () => smallestIndexInterval(1, { sampleSize: 3, method: 'Heavlin' }),
      'too-few-values',
      'options.sampleSize',
    );
    refuses(() => targetIndexInterval(1, Number.NaN, { sampleSize: 9 }), 'not-finite', 'targetDistance');
  });
});

describe('percentileIndices', () => {
  const percentiles = { lowerPercentile: 0.12, median: 7.83, upperPercentile: 35.2 };
  it('has one-sided forms', () => {
    const result = percentileIndices(percentiles, limitsOf(null, 40));
    expect(result).toMatchObject({ available: true, tolerance: null, lower: null });
    expect(percentileIndices(percentiles, limitsOf(null, null))).toMatchObject({ available: false });
  });
  it('refuses percentiles out of order', () => {
    expect(() => percentileIndices({ ...percentiles, median: 40 }, limitsOf(0, 50))).toThrow(
      expect.objectContaining({ code: 'limits-reversed', argument: 'percentiles.median' }),
    );
    expect(() => percentileIndices({ ...percentiles, median: Number.NaN }, limitsOf(0, 50))).toThrow(
      expect.objectContaining({ code: 'not-finite', argument: 'percentiles.median' }),
    );
  });
});

function limitsOf(lower: number | null, upper: number | null): SpecificationLimits {
  return { lowerSpecificationLimit: lower, upperSpecificationLimit: upper };
}

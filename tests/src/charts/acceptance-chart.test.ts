import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  type AcceptancePlan,
  type AcceptancePlanOptions,
  acceptanceChart,
  acceptanceColumns,
  acceptancePlan,
  acceptancePoint,
  acceptanceProbability,
  type SpecificationLimits,
} from '../../../src/index.ts';
import { randomSource } from '../../../src/numerics/random.ts';
import { subgroup } from '../generators.ts';

const upperOnly = { lowerSpecificationLimit: null, upperSpecificationLimit: 10 };
const both = { lowerSpecificationLimit: 9, upperSpecificationLimit: 11 };
const levels: AcceptancePlanOptions = {
  withinSubgroupStandardDeviation: 0.5,
  acceptable: { upper: 8 },
  rejectable: { upper: 9 },
};
const fractions: AcceptancePlanOptions = {
  withinSubgroupStandardDeviation: 0.15,
  acceptable: { fractionNonconforming: 0.0001 },
  rejectable: { fractionNonconforming: 0.01 },
};

function planOf(specification: SpecificationLimits, options: AcceptancePlanOptions): AcceptancePlan {
  const plan = acceptancePlan(specification, options);
  if (!plan.available) throw new Error(plan.message);
  return plan;
}

describe('acceptancePlan', () => {
  test('the sample size is that of the closed formula, the limit too', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0.2, max: 3, noNaN: true }),
        fc.double({ min: 0.5, max: 5, noNaN: true }),
        fc.constantFrom(1.2815515655446004, 1.6448536269514722),
        fc.constantFrom(1.2815515655446004, 1.6448536269514722),
        (sd, zone, zAlpha, zBeta) => {
          // z(0.1) and z(0.05), tables of the normal distribution.
          const risk = (z: number) => (z < 1.5 ? 0.1 : 0.05);
          const plan = planOf(upperOnly, {
            withinSubgroupStandardDeviation: sd,
            acceptable: { upper: 9 - zone },
            rejectable: { upper: 9 },
            alpha: risk(zAlpha),
            beta: risk(zBeta),
          });
          const needed = (((zAlpha + zBeta) * sd) / zone) ** 2;
          expect(plan.sampleSize).toBe(Math.max(1, Math.ceil(needed - 1e-9)));
          expect(plan.upperAcceptanceControlLimit).toBeCloseTo(
            9 - zone + (zAlpha * sd) / Math.sqrt(plan.sampleSize),
            10,
          );
          expect(plan.achievedAlpha).toBeCloseTo(risk(zAlpha), 12);
          expect(plan.achievedBeta).toBeLessThanOrEqual(risk(zBeta) + 1e-9);
          expect(plan).toMatchObject({
            lower: null,
            lowerAcceptanceControlLimit: null,
            centerLine: 9 - zone,
            keepsBothRisks: true,
          });
        },
      ),
      { numRuns: 60 },
    );
  });

  test('limits from the rejectable level keep beta exactly', () => {
    const plan = planOf(upperOnly, { ...levels, limitsFrom: 'rejectable-level' });
    expect(plan.sampleSize).toBe(3);
    expect(plan.upperAcceptanceControlLimit).toBeCloseTo(9 - (1.6448536269514722 * 0.5) / Math.sqrt(3), 12);
    expect(plan.achievedBeta).toBeCloseTo(0.05, 12);
    expect(plan.achievedAlpha).toBeLessThan(0.05);
  });

  test('levels from fractions: that share of pieces lies beyond the limit', () => {
    const { upper, lower, centerLine } = planOf(both, fractions);
    // z(0.0001) = 3.71902, z(0.01) = 2.32635, tables of the normal distribution.
    expect(upper!.acceptableLevel).toBeCloseTo(11 - 3.719016485455709 * 0.15, 10);
    expect(upper!.rejectableLevel).toBeCloseTo(11 - 2.3263478740408408 * 0.15, 10);
    expect(lower!.acceptableLevel).toBeCloseTo(9 + 3.719016485455709 * 0.15, 10);
    expect(centerLine).toBeCloseTo(10, 12);
  });

  test('one target on both sides gives alpha/2 to each', () => {
    const plan = planOf(both, {
      withinSubgroupStandardDeviation: 0.2,
      acceptable: { lower: 10, upper: 10 },
      rejectable: { lower: 9.6, upper: 10.4 },
      sampleSize: 4,
    });
    // z(0.025).
    expect(plan.upperAcceptanceControlLimit).toBeCloseTo(10 + 1.959963984540054 * 0.1, 10);
    expect(plan.lowerAcceptanceControlLimit).toBeCloseTo(10 - 1.959963984540054 * 0.1, 10);
    expect(plan.achievedAlpha).toBeCloseTo(0.05, 12);
  });

  test('scales, shifts and mirrors with the specification', () => {
    const plan = planOf(both, { ...fractions, beta: 0.1 });
    const scaled = planOf(
      { lowerSpecificationLimit: 9000 - 500, upperSpecificationLimit: 11000 - 500 },
      { ...fractions, beta: 0.1, withinSubgroupStandardDeviation: 150 },
    );
    expect(scaled.sampleSize).toBe(plan.sampleSize);
    expect((scaled.upperAcceptanceControlLimit! + 500) / 1000).toBeCloseTo(
      plan.upperAcceptanceControlLimit!,
      9,
    );
    expect(20 - plan.lowerAcceptanceControlLimit!).toBeCloseTo(plan.upperAcceptanceControlLimit!, 9);
    const mirrored = planOf(
      { lowerSpecificationLimit: -10, upperSpecificationLimit: null },
      { ...levels, acceptable: { lower: -8 }, rejectable: { lower: -9 } },
    );
    expect(mirrored.lowerAcceptanceControlLimit).toBeCloseTo(
      -planOf(upperOnly, levels).upperAcceptanceControlLimit!,
      12,
    );
  });

  test('a limit at a natural bound does not count', () => {
    const plan = planOf(
      { lowerSpecificationLimit: 0, upperSpecificationLimit: 10, lowerNaturalBound: 0 },
      levels,
    );
    expect(plan.lower).toBeNull();
  });

  test('a given sample size says whether it keeps both risks', () => {
    expect(planOf(upperOnly, { ...levels, sampleSize: 2 })).toMatchObject({
      sampleSize: 2,
      keepsBothRisks: false,
    });
    expect(planOf(upperOnly, { ...levels, sampleSize: 3 }).keepsBothRisks).toBe(true);
  });

  test.each<[string, SpecificationLimits, AcceptancePlanOptions, string, RegExp]>([
    [
      'a specification too narrow for the spread',
      { lowerSpecificationLimit: 9.9, upperSpecificationLimit: 10.1 },
      fractions,
      'not-reachable',
      /too narrow for this spread/,
    ],
    [
      'a reversed zone',
      upperOnly,
      { ...levels, rejectable: { upper: 8 } },
      'not-reachable',
      /does not lie beyond/,
    ],
    [
      'a reversed zone of fractions',
      both,
      { ...fractions, rejectable: { fractionNonconforming: 0.0001 } },
      'not-reachable',
      /does not lie beyond/,
    ],
    [
      'one reversed zone of two',
      both,
      { ...fractions, acceptable: { lower: 9.8, upper: 10.2 }, rejectable: { lower: 9.9, upper: 10.5 } },
      'not-reachable',
      /does not lie beyond/,
    ],
    [
      'levels too close together',
      upperOnly,
      { ...levels, rejectable: { upper: 8.001 } },
      'not-reachable',
      /More than 10000 readings/,
    ],
    [
      'limits that cross',
      both,
      {
        withinSubgroupStandardDeviation: 1,
        acceptable: { lower: 10, upper: 10 },
        rejectable: { lower: 9.5, upper: 10.5 },
        sampleSize: 2,
        limitsFrom: 'rejectable-level',
      },
      'not-reachable',
      /reversed: so few readings/,
    ],
    [
      'no limit at all',
      { lowerSpecificationLimit: null, upperSpecificationLimit: null },
      levels,
      'no-specification-limit',
      /./,
    ],
  ])('refuses %s by name', (_, specification, options, reason, message) => {
    const outcome = acceptancePlan(specification, options);
    expect(outcome).toMatchObject({ available: false, reason });
    expect(outcome).toHaveProperty('message', expect.stringMatching(message));
  });

  test.each<[Partial<AcceptancePlanOptions>, string, string]>([
    [{ withinSubgroupStandardDeviation: 0 }, 'options.withinSubgroupStandardDeviation', 'out-of-range'],
    [{ alpha: 0.6 }, 'options.alpha', 'out-of-range'],
    [{ beta: 0 }, 'options.beta', 'out-of-range'],
    [{ sampleSize: 0 }, 'options.sampleSize', 'out-of-range'],
    [{ sampleSize: 2.5 }, 'options.sampleSize', 'not-an-integer'],
    [{ limitsFrom: 'else' as 'acceptable-level' }, 'options.limitsFrom', 'unknown-name'],
    [{ acceptable: { lower: 5 } }, 'options.acceptable.upper', 'no-limits'],
    [{ acceptable: { upper: Number.NaN } }, 'options.acceptable.upper', 'not-finite'],
    [
      { rejectable: { fractionNonconforming: 0.6 } },
      'options.rejectable.fractionNonconforming',
      'out-of-range',
    ],
    [
      { rejectable: { fractionNonconforming: 0 } },
      'options.rejectable.fractionNonconforming',
      'out-of-range',
    ],
    [
      { acceptable: { upper: -1.7e308 }, rejectable: { upper: 1.7e308 } },
      'options.withinSubgroupStandardDeviation',
      'out-of-range',
    ],
  ])('names the field of %j', (change, argument, code) => {
    expect(() => acceptancePlan(upperOnly, { ...levels, ...change })).toThrow(
      expect.objectContaining({ argument, code }),
    );
  });
});

describe('acceptanceProbability', () => {
  const plan = planOf(both, fractions);

  test('falls from the center on both sides alike, and equals the risks at the levels', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0, max: 1.5, noNaN: true }),
        fc.double({ min: 1e-3, max: 1, noNaN: true }),
        (out, more) => {
          const here = acceptanceProbability(10 + out, plan);
          expect(acceptanceProbability(10 - out, plan)).toBeCloseTo(here, 11);
          expect(acceptanceProbability(10 + out + more, plan)).toBeLessThanOrEqual(here);
          expect(here >= 0 && here <= 1).toBe(true);
        },
      ),
      { numRuns: 60 },
    );
    expect(acceptanceProbability(plan.upper!.acceptableLevel, plan)).toBeCloseTo(0.95, 12);
    expect(acceptanceProbability(plan.lower!.rejectableLevel, plan)).toBeCloseTo(plan.achievedBeta, 12);
    // Far out the digits of the tail are kept: 10 standard errors beyond the limit, tail table 7.6199e-24.
    const far = plan.upperAcceptanceControlLimit! + (10 * 0.15) / Math.sqrt(plan.sampleSize);
    expect(acceptanceProbability(far, plan) / 7.61985302416e-24).toBeCloseTo(1, 9);
  });

  test('simulated subgroups are accepted as often', () => {
    const { normal } = randomSource(40);
    for (const level of [10.3, 10.45, 10.55]) {
      const readings = Float64Array.from({ length: 4000 * plan.sampleSize }, () => level + 0.15 * normal());
      const { beyondLimits } = acceptanceColumns(readings, plan);
      const accepted = beyondLimits.filter((flag) => flag === 0).length / 4000;
      // Standard error at most 0.008.
      expect(Math.abs(accepted - acceptanceProbability(level, plan))).toBeLessThan(0.032);
    }
  });
});

describe('acceptanceChart', () => {
  const plan = planOf(both, { ...fractions, sampleSize: 3 });

  test('all three routes agree', () => {
    const reading = fc.integer({ min: 880, max: 1120 }).map((hundredths) => hundredths / 100);
    fc.assert(
      fc.property(
        fc.array(fc.array(reading, { minLength: 3, maxLength: 3 }), { minLength: 1, maxLength: 20 }),
        fc.constantFrom('acceptable-level' as const, 'rejectable-level' as const),
        fc.constantFrom(both, upperOnly),
        (subgroups, limitsFrom, specification) => {
          const rule = planOf(specification, { ...fractions, sampleSize: 3, limitsFrom });
          const chart = acceptanceChart(subgroups, rule);
          expect(subgroups.map((one, index) => ({ ...acceptancePoint(one, rule), index }))).toEqual(
            chart.points,
          );
          const columns = acceptanceColumns(Float64Array.from(subgroups.flat()), rule);
          expect([...columns.means]).toEqual(chart.points.map(({ value }) => value));
          expect([...columns.beyondLimits]).toEqual(
            chart.points.map(({ value }) =>
              value! > rule.upperAcceptanceControlLimit!
                ? 1
                : value! < (rule.lowerAcceptanceControlLimit ?? -Infinity)
                  ? 2
                  : 0,
            ),
          );
          expect(chart.signals).toEqual(
            [...columns.beyondLimits.keys()].filter((i) => columns.beyondLimits[i] !== 0),
          );
          expect(acceptanceColumns(Float64Array.from(subgroups.flat()), rule, columns).means).toBe(
            columns.means,
          );
        },
      ),
      { numRuns: 60 },
    );
  });

  test('limits follow the size of each subgroup', () => {
    fc.assert(
      fc.property(fc.array(subgroup, { minLength: 1, maxLength: 12 }), (subgroups) => {
        const { points } = acceptanceChart(subgroups, plan);
        for (const { size, limits } of points) {
          if (size === 0) {
            expect(limits).toBeNull();
            continue;
          }
          const sized = planOf(both, { ...fractions, sampleSize: size });
          expect(limits).toEqual({
            centerLine: sized.centerLine,
            lowerControlLimit: sized.lowerAcceptanceControlLimit,
            upperControlLimit: sized.upperAcceptanceControlLimit,
            standardDeviation: 0.15 / Math.sqrt(size),
          });
        }
      }),
      { numRuns: 40 },
    );
  });

  test('so few readings that the limits cross are not judged', () => {
    const tight = planOf(both, {
      withinSubgroupStandardDeviation: 0.4,
      acceptable: { lower: 10, upper: 10 },
      rejectable: { lower: 9.5, upper: 10.5 },
      limitsFrom: 'rejectable-level',
    });
    expect(acceptancePoint([20], tight)).toMatchObject({
      value: 20,
      size: 1,
      limits: null,
      beyondLimits: false,
    });
    expect(() => acceptanceColumns(Float64Array.of(1), { ...tight, sampleSize: 1 })).toThrow(
      expect.objectContaining({ code: 'limits-reversed', argument: 'plan.sampleSize' }),
    );
  });

  test('the basis holds the rule and nothing else', () => {
    expect(Object.keys(acceptanceChart([[10]], plan).basis).sort()).toEqual([
      'alpha',
      'beta',
      'centerLine',
      'limitsFrom',
      'lower',
      'sampleSize',
      'upper',
      'withinSubgroupStandardDeviation',
    ]);
  });

  const side = { acceptableLevel: 10.2, rejectableLevel: 10.5 };
  test.each<[Partial<AcceptancePlan>, string, string]>([
    [{ withinSubgroupStandardDeviation: 0 }, 'plan.withinSubgroupStandardDeviation', 'out-of-range'],
    [{ alpha: 0 }, 'plan.alpha', 'out-of-range'],
    [{ beta: 0.7 }, 'plan.beta', 'out-of-range'],
    [{ limitsFrom: 'x' as 'acceptable-level' }, 'plan.limitsFrom', 'unknown-name'],
    [{ lower: null, upper: null }, 'plan', 'no-limits'],
    [{ upper: { ...side, acceptableLevel: Number.NaN } }, 'plan.upper.acceptableLevel', 'not-finite'],
    [{ upper: { ...side, rejectableLevel: Infinity } }, 'plan.upper.rejectableLevel', 'not-finite'],
    [{ upper: { ...side, rejectableLevel: 10.2 } }, 'plan.upper.rejectableLevel', 'limits-reversed'],
    [{ lower: side }, 'plan.lower.rejectableLevel', 'limits-reversed'],
    [
      { lower: { acceptableLevel: 10.4, rejectableLevel: 10.3 }, upper: side },
      'plan.lower.acceptableLevel',
      'limits-reversed',
    ],
    [{ withinSubgroupStandardDeviation: 1.7e308 }, 'plan.withinSubgroupStandardDeviation', 'out-of-range'],
    [{ sampleSize: 0 }, 'plan.sampleSize', 'out-of-range'],
    [{ centerLine: Number.NaN }, 'plan.centerLine', 'not-finite'],
  ])('names what is wrong with a plan: %j', (change, argument, code) => {
    const error = expect.objectContaining({ argument, code });
    expect(() => acceptanceChart([[10]], { ...plan, ...change })).toThrow(error);
    expect(() => acceptancePoint([10], { ...plan, ...change })).toThrow(error);
    expect(() => acceptanceColumns(Float64Array.of(1, 2, 3), { ...plan, ...change })).toThrow(error);
  });

  test.each<[string, () => unknown, string, string]>([
    ['no subgroup', () => acceptanceChart([], plan), 'subgroups', 'empty'],
    [
      'a reading that is none',
      () => acceptanceChart([[1], [2, Number.NaN]], plan),
      'subgroups.1.1',
      'not-finite',
    ],
    ['half a subgroup', () => acceptanceColumns(Float64Array.of(1, 2), plan), 'readings', 'sizes-differ'],
    ['no reading', () => acceptanceColumns(new Float64Array(0), plan), 'readings', 'empty'],
    [
      'a column reading that is none',
      () => acceptanceColumns(Float64Array.of(1, 2, Number.NaN), plan),
      'readings.2',
      'not-finite',
    ],
    [
      'readings too far apart',
      () => acceptanceColumns(Float64Array.of(-1.7e308, 1.7e308, 1), plan),
      'readings.0',
      'out-of-range',
    ],
    [
      'columns of another length',
      () =>
        acceptanceColumns(Float64Array.of(1, 2, 3), plan, {
          means: new Float64Array(2),
          beyondLimits: new Uint8Array(1),
        }),
      'columns.means',
      'sizes-differ',
    ],
    ['a level that is none', () => acceptanceProbability(Number.NaN, plan), 'level', 'not-finite'],
  ])('refuses %s', (_, call, argument, code) => {
    expect(call).toThrow(expect.objectContaining({ argument, code }));
  });
});

import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  coilVariation,
  type NestedReadings,
  nestedAnalysisOfVariance,
  nestedLikelihoodComponents,
} from '../../../src/index.ts';
import { randomSource } from '../../../src/numerics/random.ts';

/** Balanced normal data with the standard deviations of the three levels. */
function simulated(
  seed: number,
  [coils, hours, pieces]: readonly [number, number, number],
  [coilSd, hourSd, pieceSd]: readonly [number, number, number],
): number[][][] {
  const { normal } = randomSource(seed);
  return Array.from({ length: coils }, () => {
    const coil = coilSd * normal();
    return Array.from({ length: hours }, () => {
      const hour = coil + hourSd * normal();
      return Array.from({ length: pieces }, () => 10 + hour + pieceSd * normal());
    });
  });
}

const thousandths = fc.integer({ min: 9000, max: 11000 }).map((value) => value / 1000);
const balanced = fc
  .tuple(fc.integer({ min: 2, max: 4 }), fc.integer({ min: 2, max: 4 }), fc.integer({ min: 2, max: 4 }))
  .chain(([coils, hours, pieces]) => {
    const exactly = (length: number) => ({ minLength: length, maxLength: length });
    return fc.array(fc.array(fc.array(thousandths, exactly(pieces)), exactly(hours)), exactly(coils));
  });
const unbalanced = fc.array(
  fc.array(fc.array(fc.option(thousandths, { freq: 8 }), { maxLength: 4 }), { maxLength: 4 }),
  { minLength: 2, maxLength: 5 },
);

const changed = (data: NestedReadings, change: (reading: number) => number) =>
  data.map((hours) => hours.map((pieces) => pieces.map((one) => (one === null ? null : change(one)))));

describe('nestedAnalysisOfVariance', () => {
  test('splits the sum of squares, and its mean squares add up to the components', () => {
    fc.assert(
      fc.property(balanced, (data) => {
        const table = nestedAnalysisOfVariance(data);
        if (!table.available) return expect(table.reason).toBe('no-variation');
        const all = data.flat(2);
        const mean = all.reduce((sum, value) => sum + value, 0) / all.length;
        const total = all.reduce((sum, value) => sum + (value - mean) ** 2, 0);
        const { coil, hour, piece } = table.sumsOfSquares;
        expect(coil + hour + piece).toBeCloseTo(total, 9);
        expect(table.mean).toBeCloseTo(mean, 12);
        const { rawComponents: raw, meanSquares, piecesPerHour, hoursPerCoil } = table;
        expect(raw.piece + piecesPerHour * (raw.hour + hoursPerCoil * raw.coil)).toBeCloseTo(
          meanSquares.coil,
          9,
        );
        for (const level of ['coil', 'hour', 'piece'] as const)
          expect(table.components[level]).toBe(Math.max(0, raw[level]));
        const { percent } = table;
        expect(percent.coil + percent.hour + percent.piece).toBeCloseTo(100, 9);
      }),
      { numRuns: 60 },
    );
  });

  test('ratios stay and variances scale with the unit, whatever the level and the order', () => {
    const data = simulated(3, [4, 3, 3], [0.3, 0.2, 0.1]);
    const plain = nestedAnalysisOfVariance(data);
    const other = nestedAnalysisOfVariance(
      changed(data, (one) => 1000 * (one - 10))
        .map((hours) => hours.toReversed())
        .toReversed(),
    );
    if (!plain.available || !other.available) throw new Error('no table');
    expect(other.fRatio.coil!).toBeCloseTo(plain.fRatio.coil!, 8);
    expect(other.pValue.hour!).toBeCloseTo(plain.pValue.hour!, 10);
    expect(other.components.coil / 1e6).toBeCloseTo(plain.components.coil, 10);
    expect(other.mean).toBeCloseTo(1000 * (plain.mean - 10), 8);
  });

  test.each<[string, NestedReadings, string]>([
    [
      'one coil',
      [
        [
          [1, 2],
          [2, 3],
        ],
      ],
      'too-few-values',
    ],
    ['one hour a coil', [[[1, 2]], [[2, 3]]], 'too-few-values'],
    [
      'one piece an hour',
      [
        [[1], [2]],
        [[2], [3]],
      ],
      'too-few-values',
    ],
    [
      'a missing piece',
      [
        [
          [1, 2],
          [2, null],
        ],
        [
          [2, 4],
          [3, 4],
        ],
      ],
      'outside-method',
    ],
    [
      'a missing hour',
      [
        [
          [1, 2],
          [2, 3],
        ],
        [[2, 4], []],
      ],
      'outside-method',
    ],
    [
      'equal pieces',
      [
        [
          [1, 1],
          [2, 2],
        ],
        [
          [2, 2],
          [3, 3],
        ],
      ],
      'no-variation',
    ],
  ])('has no table for %s', (_, data, reason) => {
    expect(nestedAnalysisOfVariance(data)).toMatchObject({ available: false, reason });
  });

  test('has no F ratio of coils where hours do not differ at all', () => {
    const table = nestedAnalysisOfVariance([
      [
        [1, 3],
        [1, 3],
      ],
      [
        [4, 6],
        [4, 6],
      ],
    ]);
    expect(table).toMatchObject({ fRatio: { coil: null, hour: 0 }, pValue: { coil: null, hour: 1 } });
  });

  test('names the reading', () => {
    expect(() => nestedAnalysisOfVariance([[[1, 2]], [[1, Number.NaN]]])).toThrow(/^coils\.1\.0\.1:/);
    expect(() => nestedAnalysisOfVariance([[], [[null]]])).toThrow(
      expect.objectContaining({ code: 'empty', argument: 'coils' }),
    );
    expect(() => nestedAnalysisOfVariance([[[0, 1e150]]])).toThrow(
      expect.objectContaining({ code: 'out-of-range', argument: 'coils' }),
    );
    expect(() => nestedAnalysisOfVariance([[[0, 1e-150]]])).toThrow(
      expect.objectContaining({ code: 'out-of-range', argument: 'coils' }),
    );
  });
});

describe('nestedLikelihoodComponents', () => {
  test('equals the analysis of variance on balanced data with positive components', () => {
    let compared = 0;
    fc.assert(
      fc.property(balanced, (data) => {
        const table = nestedAnalysisOfVariance(data);
        const fit = nestedLikelihoodComponents(data);
        if (!table.available) return;
        if (!fit.available) throw new Error(fit.message);
        expect(fit.mean).toBeCloseTo(table.mean, 12);
        if (table.rawComponents.coil <= 1e-6 || table.rawComponents.hour <= 1e-6) return;
        compared++;
        for (const level of ['coil', 'hour', 'piece'] as const)
          expect(fit.components[level] / table.components[level]).toBeCloseTo(1, 7);
      }),
      { numRuns: 100 },
    );
    expect(compared).toBeGreaterThan(5);
  });

  /** Written out with full matrices, as the definition has it: V, its determinant and inverse by elimination. */
  function definition(data: NestedReadings, [coil, hour, piece]: readonly number[], mean: number): number {
    const rows = data.flatMap((hours, c) =>
      hours.flatMap((pieces, h) => pieces.flatMap((y) => (y === null ? [] : [{ c, h, y }]))),
    );
    const n = rows.length;
    const matrix = rows.map((a, i) => [
      ...rows.map((b, j) => (a.c === b.c ? coil! + (a.h === b.h ? hour! : 0) : 0) + (i === j ? piece! : 0)),
      1,
      a.y - mean,
    ]);
    let logDeterminant = 0;
    for (let k = 0; k < n; k++) {
      logDeterminant += Math.log(matrix[k]![k]!);
      for (let i = 0; i < n; i++) {
        if (i === k) continue;
        const factor = matrix[i]![k]! / matrix[k]![k]!;
        for (let j = k; j < n + 2; j++) matrix[i]![j]! -= factor * matrix[k]![j]!;
      }
    }
    let precision = 0;
    let form = 0;
    for (let i = 0; i < n; i++) {
      precision += matrix[i]![n]! / matrix[i]![i]!;
      form += ((rows[i]!.y - mean) * matrix[i]![n + 1]!) / matrix[i]![i]!;
    }
    return -((n - 1) * Math.log(2 * Math.PI) + logDeterminant + Math.log(precision) + form) / 2;
  }

  test('reports the likelihood of the definition, and no neighbour has a larger one', () => {
    let edges = 0;
    fc.assert(
      fc.property(unbalanced, (data) => {
        fc.pre(data.some((hours) => hours.some((pieces) => pieces.some((one) => one !== null))));
        const fit = nestedLikelihoodComponents(data);
        if (!fit.available) return;
        const { coil, hour, piece } = fit.components;
        expect(definition(data, [coil, hour, piece], fit.mean)).toBeCloseTo(fit.restrictedLogLikelihood, 6);
        if (coil === 0 || hour === 0) edges++;
        for (const step of [0.02, -0.02, 0.5]) {
          const unit = step * (coil + hour + piece);
          for (const other of [
            [coil + unit, hour, piece],
            [coil, hour + unit, piece],
            [coil, hour, piece * (1 + step)],
          ])
            if (other.every((one) => one >= 0))
              expect(definition(data, other, fit.mean)).toBeLessThan(fit.restrictedLogLikelihood + 1e-7);
        }
      }),
      { numRuns: 60 },
    );
    expect(edges).toBeGreaterThan(3);
  });

  test('settles whatever the sizes and the shares are', () => {
    for (let seed = 0; seed < 150; seed++) {
      const { uniform, normal } = randomSource(seed);
      const [coilSd, hourSd] = [10 ** (4 * uniform() - 2), 10 ** (4 * uniform() - 2)];
      const count = (most: number) => ({ length: 1 + Math.floor(most * uniform()) });
      const data = Array.from({ length: 2 + Math.floor(8 * uniform()) }, () => {
        const coil = coilSd * normal();
        return Array.from(count(4), () => {
          const hour = coil + hourSd * normal();
          return Array.from(count(4), () => hour + normal());
        });
      });
      const fit = nestedLikelihoodComponents(data);
      if (!fit.available) expect(fit.reason).toBe('too-few-values');
    }
  });

  test('scales with the unit and is blind to order and level', () => {
    const data = simulated(11, [5, 3, 2], [0.2, 0.1, 0.1]);
    const uneven = data.map((hours, coil) => hours.slice(0, 2 + (coil % 2)));
    const plain = nestedLikelihoodComponents(uneven);
    const other = nestedLikelihoodComponents(changed(uneven.toReversed(), (one) => 1000 * one - 5e5));
    if (!plain.available || !other.available) throw new Error('no fit');
    for (const level of ['coil', 'hour', 'piece'] as const)
      expect(other.components[level] / 1e6).toBeCloseTo(plain.components[level], 9);
    expect(other.percent.coil).toBeCloseTo(plain.percent.coil, 5);
    expect(other.meanStandardError / 1000).toBeCloseTo(plain.meanStandardError, 9);
    // Each reading but one carries the unit in its density.
    const shift = (plain.readings - 1) * Math.log(1000);
    expect(other.restrictedLogLikelihood + shift).toBeCloseTo(plain.restrictedLogLikelihood, 6);
    expect(plain).toMatchObject({ coils: 5, hours: 12, readings: 24 });
  });

  test('recovers the variances it was simulated with', () => {
    const fit = nestedLikelihoodComponents(simulated(5, [300, 4, 3], [2, 1, 0.5]));
    if (!fit.available) throw new Error(fit.message);
    // Standard errors are about 8 %, 5 % and 3 %.
    expect(fit.components.coil / 4).toBeCloseTo(1, 0);
    expect(Math.abs(fit.components.coil / 4 - 1)).toBeLessThan(0.3);
    expect(Math.abs(fit.components.hour - 1)).toBeLessThan(0.2);
    expect(Math.abs(fit.components.piece / 0.25 - 1)).toBeLessThan(0.15);
  });

  test.each<[string, NestedReadings, string, RegExp]>([
    [
      'one coil',
      [
        [
          [1, 2],
          [2, 3],
        ],
      ],
      'too-few-values',
      /two coils/,
    ],
    ['one hour a coil', [[[1, 2]], [[2, 3], [null]]], 'too-few-values', /a coil with two hours/],
    [
      'one piece an hour',
      [
        [[1], [2]],
        [[2], [3, null]],
      ],
      'too-few-values',
      /an hour with two pieces/,
    ],
    [
      'equal pieces',
      [
        [
          [1, 1],
          [2, 2],
        ],
        [[2], [3]],
      ],
      'no-variation',
      /gauge/,
    ],
  ])('tells nothing apart with %s', (_, data, reason, message) => {
    const outcome = nestedLikelihoodComponents(data);
    expect(outcome).toMatchObject({ available: false, reason });
    expect(outcome).toHaveProperty('message', expect.stringMatching(message));
  });
});

describe('coilVariation', () => {
  const verdictOf = (data: NestedReadings) => {
    const found = coilVariation(data);
    if (!found.available) throw new Error(found.message);
    return found;
  };

  test('strip thickness of the demo: the coil carries four fifths of the variance', () => {
    const found = verdictOf(simulated(1, [40, 12, 3], [0.02, 0, 0.01]));
    expect(found.verdict).toBe('coils');
    expect(found.coilPercent).toBeGreaterThan(68);
    expect(found.coilPercent).toBeLessThan(90);
    expect(found.coilPercent + found.insideCoilPercent).toBeCloseTo(100, 9);
    expect(found.coilStandardDeviation).toBeCloseTo(0.02, 2);
    expect(found.insideCoilStandardDeviation).toBeCloseTo(0.01, 3);
    expect(found.message).toMatch(/^\d\d % of the variance lies between coils .*: draw the limits for means/);
    expect(found.pValue).toBeLessThan(1e-10);
  });

  test('names the level inside that leads', () => {
    const hours = verdictOf(simulated(2, [40, 5, 3], [0.6, 1.2, 0.3]));
    expect(hours.verdict).toBe('inside-coils');
    expect(hours.message).toMatch(/^Only .* from hour to hour, the coils come second\.$/);
    const pieces = verdictOf(simulated(2, [40, 5, 3], [0.6, 0.1, 1.2]));
    expect(pieces.message).toMatch(/from piece to piece, the coils come second\.$/);
    const both = verdictOf(simulated(4, [40, 5, 3], [1, 0.8, 0.6]));
    expect(both.verdict).toBe('both');
    expect(both.message).toMatch(/look both at the coils and at what changes from hour to hour\.$/);
    const few = verdictOf(simulated(2, [6, 5, 3], [2, 0.1, 0.3]));
    expect(few.message).toMatch(/rough: only 6 coils/);
  });

  test('without a difference of coils it says so about as often as promised', () => {
    let differences = 0;
    for (let seed = 0; seed < 150; seed++) {
      const found = verdictOf(simulated(seed + 0.5, [8, 3, 2], [0, 0.5, 1]));
      expect(found.pValue >= 0 && found.pValue <= 1).toBe(true);
      if (found.verdict === 'no-coil-difference') {
        expect(found.message).toMatch(/^No difference between the 8 coils is shown/);
        if (found.coilPercent === 0) expect(found.pValue).toBe(1);
      } else differences++;
    }
    // 5 % of 150 with a standard deviation of 2.7; the test is known to be on the safe side.
    expect(differences).toBeGreaterThan(0);
    expect(differences).toBeLessThan(16);
  });

  test('significance moves the verdict', () => {
    const data = simulated(8, [8, 3, 2], [0.5, 0.5, 1]);
    const { pValue } = verdictOf(data);
    expect(pValue).toBeGreaterThan(0);
    expect(pValue).toBeLessThan(1);
    const strict = coilVariation(data, { significance: pValue });
    const loose = coilVariation(data, { significance: Math.min(0.999, pValue * 1.01) });
    expect(strict).toHaveProperty('verdict', 'no-coil-difference');
    expect(loose).not.toHaveProperty('verdict', 'no-coil-difference');
    expect(() => coilVariation(data, { significance: 0 })).toThrow(/^options\.significance/);
    expect(coilVariation([[[1]]])).toMatchObject({ available: false, reason: 'too-few-values' });
  });
});

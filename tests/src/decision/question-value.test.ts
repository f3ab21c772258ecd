import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { questionValue, type ValueExpectation } from '../../../src/index.ts';

const millimetres = (
  mean: number,
  standardDeviation: number,
  more: Partial<ValueExpectation> = {},
): ValueExpectation => ({
  mean,
  standardDeviation,
  otherModels: [],
  unit: 'mm',
  decimals: 2,
  lowerNaturalBound: null,
  upperNaturalBound: null,
  ...more,
});

describe('questionValue', () => {
  it('recognises two neighbouring digits exchanged, the decimal mark between them or not', () => {
    const circumference = millimetres(955.04, 0.18, {
      otherModels: [{ modelId: 'Q10', name: 'Q10', nominal: 795.45 }],
    });
    expect(questionValue(951.52, circumference)).toEqual({
      kind: 'digit-swap',
      suggestion: 955.12,
      modelId: null,
      sentence:
        '951.52 mm is far from the 955.04 mm expected here. With two neighbouring digits swapped it would be 955.12 mm. Did you mean 955.12 mm?',
    });
    expect(questionValue(24.31, millimetres(42.2, 0.15))).toMatchObject({
      kind: 'digit-swap',
      suggestion: 42.31,
    });
    // 925.15 is 955.12 with the second and the last digit exchanged: nobody types that by accident.
    expect(questionValue(925.15, circumference)).toMatchObject({
      kind: 'far-from-expected',
      suggestion: null,
    });
  });

  it('never offers one tap from a bad part to a good value', () => {
    // 191.90 against at most 191.50: 190.91 with two digits exchanged, and a part that exists.
    const width = millimetres(190.5, 0.18);
    expect(questionValue(191.9, width)).toMatchObject({ kind: 'far-from-expected', suggestion: null });
    // 25 standard deviations off: no part of this process, unless the drawing is wide enough for one.
    expect(questionValue(195, width)).toMatchObject({ kind: 'digit-swap', suggestion: 190.5 });
    expect(questionValue(195, { ...width, realWithin: 5 })).toMatchObject({ kind: 'far-from-expected' });
    expect(questionValue(199.04, width)).toMatchObject({ kind: 'far-from-expected', suggestion: null });
  });

  it.each([
    ['bead seat', 955.04, 0.18, 953.84, 956.24, 2],
    ['rim width', 190.5, 0.18, 189.5, 191.5, 2],
    ['hub bore', 80.06, 0.012, 80, 80.15, 3],
    ['offset', 10, 0.15, 9.2, 10.8, 2],
  ] as const)(
    'suggests hardly anything for parts of %s truly off',
    (_, mean, deviation, lower, upper, decimals) => {
      // From 6 standard deviations off to two half tolerances beyond the limits. With every pair of digits tried
      // and no part taken for real it was 6 to 21 in 100.
      const half = (upper - lower) / 2;
      const step = 10 ** -decimals;
      const stream = millimetres(mean, deviation, {
        decimals,
        realWithin: Math.max(15 * deviation, 2.75 * half),
      });
      let all = 0;
      let suggested = 0;
      for (let k = Math.ceil((lower - 2 * half) / step); k * step <= upper + 2 * half; k++) {
        const value = Number((k * step).toFixed(decimals));
        if (Math.abs(value - mean) < 6 * deviation) continue;
        all++;
        if (questionValue(value, stream)?.suggestion != null) suggested++;
      }
      expect(all).toBeGreaterThan(250);
      expect(suggested / all).toBeLessThan(0.05);
    },
  );

  it('recognises a lost or misplaced decimal mark', () => {
    expect(questionValue(1271, millimetres(127, 0.18))).toMatchObject({
      kind: 'lost-decimal',
      suggestion: 127.1,
    });
    expect(questionValue(12710, millimetres(127, 0.18))).toMatchObject({
      kind: 'lost-decimal',
      suggestion: 127.1,
    });
    expect(questionValue(127100, millimetres(127, 0.18))).toMatchObject({
      kind: 'lost-decimal',
      suggestion: 127.1,
    });
    expect(questionValue(12.71, millimetres(127, 0.18))).toMatchObject({
      kind: 'lost-decimal',
      suggestion: 127.1,
    });
    const runout = millimetres(0.354, 0.17, { lowerNaturalBound: 0 });
    expect(questionValue(3.4, runout)).toMatchObject({ kind: 'lost-decimal', suggestion: 0.34 });
  });

  it('recognises inches typed for millimetres, and the other way', () => {
    const bore = millimetres(80.06, 0.012, { decimals: 3 });
    expect(questionValue(3.152, bore)).toMatchObject({ kind: 'inch-for-millimetre', suggestion: 80.061 });
    const inches = millimetres(3.152, 0.0005, { unit: 'in', decimals: 4 });
    expect(questionValue(80.07, inches)).toMatchObject({ kind: 'inch-for-millimetre', suggestion: 3.1524 });
    expect(questionValue(2033.5, bore)).toMatchObject({ kind: 'inch-for-millimetre', suggestion: 80.059 });
    expect(questionValue(3.152, { ...bore, unit: 'kN' })).toMatchObject({ kind: 'far-from-expected' });
    // 3.152 in divided by 25.4 once too often.
    expect(questionValue(0.1241, inches)).toMatchObject({ kind: 'inch-for-millimetre', suggestion: 3.1521 });
  });

  it('says how it came to its suggestion', () => {
    const bore = millimetres(80.06, 0.012, { decimals: 3 });
    const inches = millimetres(3.152, 0.0005, { unit: 'in', decimals: 4 });
    const once = 'Converted between inch and millimetre once too often,';
    for (const [value, stream, how] of [
      [1271, millimetres(127, 0.18), 'With the decimal mark in another place'],
      [3.152, bore, 'Read as inches'],
      [2033.5, bore, once],
      [80.07, inches, 'Read as millimetres'],
      [0.1241, inches, once],
    ] as const)
      expect(questionValue(value, stream)?.sentence).toContain(`. ${how} it would be `);
  });

  it('suggests what comes closest to the mean, whichever typo that takes', () => {
    // 0.95 is 9.05 with two digits swapped and 9.50 with the decimal mark in another place.
    expect(questionValue(0.95, millimetres(9.3, 0.25))).toMatchObject({
      kind: 'lost-decimal',
      suggestion: 9.5,
    });
    expect(questionValue(0.95, millimetres(9.2, 0.25))).toMatchObject({
      kind: 'digit-swap',
      suggestion: 9.05,
    });
  });

  it('asks about a value above an upper natural bound, however near', () => {
    const filled = millimetres(99, 0.5, { unit: '%', decimals: 1, upperNaturalBound: 100 });
    expect(questionValue(100, filled)).toBeNull();
    expect(questionValue(100.4, filled)).toEqual({
      kind: 'outside-natural-bound',
      suggestion: null,
      modelId: null,
      sentence: '100.4 % cannot be: the value is never above 100.0 %. Measure the same piece again.',
    });
    const runout = millimetres(0.354, 0.17, { lowerNaturalBound: 0 });
    expect(questionValue(-0.31, runout)?.sentence).toBe(
      '-0.31 mm cannot be: the value is never below 0.00 mm. Did you mean 0.31 mm?',
    );
  });

  it('asks the same wherever zero lies', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 0, max: 4000 }),
        fc.integer({ min: 100, max: 800 }),
        fc.constantFrom(-50, 20, 1000),
        (above, mean, shift) => {
          const asked = (zero: number) =>
            questionValue(
              zero + above / 1000 + 0.0003,
              millimetres(zero + mean / 1000, 0.05, { decimals: 3, unit: 'kN', lowerNaturalBound: zero }),
            ) === null;
          expect(asked(shift)).toBe(asked(0));
        },
      ),
    );
  });

  it('takes a bad part near a bound for what it is, not for a typo', () => {
    // A tenth of 0.165 is 2.6 standard deviations low, but 4 by the logarithm: burrs are not that small.
    const burr = millimetres(0.046, 0.0115, { lowerNaturalBound: 0, decimals: 3 });
    expect(questionValue(0.165, burr)).toMatchObject({ kind: 'far-from-expected', suggestion: null });
    expect(questionValue(0.46, burr)).toMatchObject({ kind: 'lost-decimal', suggestion: 0.046 });
    // The same seen in a mirror.
    const mirrored = millimetres(-0.046, 0.0115, { upperNaturalBound: 0, decimals: 3 });
    expect(questionValue(-0.165, mirrored)).toMatchObject({ kind: 'far-from-expected', suggestion: null });
    expect(questionValue(-0.46, mirrored)).toMatchObject({ kind: 'lost-decimal', suggestion: -0.046 });
  });

  it('takes another model before a typo that would also fit', () => {
    const offset = millimetres(10, 0.15, {
      otherModels: [
        { modelId: 'Q12', name: 'Q12', nominal: 16 },
        { modelId: 'Q12W', name: 'Q12W', nominal: 22 },
      ],
    });
    expect(questionValue(16.1, offset)).toMatchObject({
      kind: 'other-model',
      modelId: 'Q12',
      suggestion: null,
    });
    // 22.20 would be 2.22 with the decimal mark in another place.
    const small = millimetres(2.2, 0.15, { otherModels: [{ modelId: 'Q22', name: 'Q22', nominal: 22 }] });
    expect(questionValue(22.2, small)).toMatchObject({ kind: 'other-model', suggestion: null });
    expect(questionValue(22.2, { ...small, otherModels: [] })).toMatchObject({
      kind: 'lost-decimal',
      suggestion: 2.22,
    });
  });

  it('names every model that shares the nominal', () => {
    const question = questionValue(
      955.1,
      millimetres(795.45, 0.18, {
        otherModels: [
          { modelId: 'Q12', name: 'Q12', nominal: 955.04 },
          { modelId: 'Q12W', name: 'Q12W', nominal: 955.04 },
        ],
      }),
    );
    expect(question?.sentence).toContain('Q12 or Q12W');
  });

  it('asks about a value that nothing explains, and about one beyond a natural bound', () => {
    expect(questionValue(129.4, millimetres(127, 0.18))).toMatchObject({
      kind: 'far-from-expected',
      suggestion: null,
    });
    const runout = millimetres(0.354, 0.17, { lowerNaturalBound: 0 });
    expect(questionValue(-0.31, runout)).toMatchObject({ kind: 'outside-natural-bound', suggestion: 0.31 });
    expect(questionValue(-0.0001, { ...runout, mean: 3 })).toMatchObject({
      kind: 'outside-natural-bound',
      suggestion: null,
    });
  });

  it('never asks within five standard deviations, in either unit', () => {
    fc.assert(
      fc.property(
        fc.double({ min: -2000, max: 2000, noNaN: true }),
        fc.double({ min: 0.001, max: 50, noNaN: true }),
        fc.double({ min: -5, max: 5, noNaN: true }),
        fc.boolean(),
        (mean, standardDeviation, z, bounded) => {
          const value = mean + z * standardDeviation;
          const bound = bounded ? Math.min(mean, value) - 0.001 : null;
          const base = millimetres(mean, standardDeviation, { decimals: 3, lowerNaturalBound: bound });
          expect(questionValue(value, base)).toBeNull();
          const inMicrometres = millimetres(mean * 1000, standardDeviation * 1000, {
            decimals: 0,
            unit: 'µm',
            lowerNaturalBound: bound === null ? null : bound * 1000,
          });
          expect(questionValue(value * 1000, inMicrometres)).toBeNull();
        },
      ),
    );
  });

  it('asks the same in millimetres and micrometres, unless inches explain it', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 50_000, max: 60_000 }),
        fc.integer({ min: 1, max: 200_000 }),
        fc.boolean(),
        (mean, value, bounded) => {
          const bound = bounded ? 0 : null;
          const one = questionValue(
            value / 1000,
            millimetres(mean / 1000, 0.05, { decimals: 3, lowerNaturalBound: bound, unit: 'kN' }),
          );
          const other = questionValue(
            value,
            millimetres(mean, 50, { decimals: 0, lowerNaturalBound: bound, unit: 'N' }),
          );
          expect(other === null).toBe(one === null);
        },
      ),
    );
  });

  it('only suggests a value that is plausible itself', () => {
    const expectation = millimetres(955.04, 0.18);
    const bore = millimetres(80.06, 0.012, { decimals: 3 });
    for (let step = -5000; step <= 250_000; step += 37) {
      for (const [value, stream] of [
        [step / 100, expectation],
        [step / 1000, bore],
      ] as const) {
        const question = questionValue(value, stream);
        if (question?.suggestion == null) continue;
        if (questionValue(question.suggestion, stream) !== null) expect.fail(question.sentence);
      }
    }
  });

  it('seldom asks about genuine values, skewed ones near a bound included', () => {
    // Tail areas of the two skewed shapes at the first value asked about, in closed form.
    const firstAsked = (expectation: ValueExpectation) => {
      let value = expectation.mean;
      while (questionValue(value, expectation) === null) value += 0.001;
      return value;
    };
    // Weibull, shape 2.2, scale 0.40: mean 0.3543, standard deviation 0.1700.
    const weibull = firstAsked(millimetres(0.3543, 0.17, { lowerNaturalBound: 0, decimals: 3 }));
    expect(Math.exp(-((weibull / 0.4) ** 2.2))).toBeLessThan(1e-9);
    // Rayleigh with mean 1.2533 and standard deviation 0.6551 scales, scale 0.1.
    const rayleigh = firstAsked(millimetres(0.12533, 0.06551, { lowerNaturalBound: 0, decimals: 3 }));
    expect(Math.exp(-((rayleigh / 0.1) ** 2) / 2)).toBeLessThan(1e-9);
    // Lognormal, median 0.08, log standard deviation 0.30; 4.7 of those leave 1.3 in a million above.
    const mean = 0.08 * Math.exp(0.045);
    const lognormal = firstAsked(
      millimetres(mean, mean * Math.sqrt(Math.expm1(0.09)), { lowerNaturalBound: 0, decimals: 3 }),
    );
    expect(Math.log(lognormal / 0.08) / 0.3).toBeGreaterThan(4.7);
  });

  it('never lets a gauge step pass for a distance', () => {
    expect(questionValue(10.02, millimetres(10, 0, { decimals: 2 }))).toBeNull();
    expect(questionValue(10.05, millimetres(10, 0, { decimals: 2 }))).toBeNull();
    expect(questionValue(10.07, millimetres(10, 0, { decimals: 2 }))).not.toBeNull();
  });

  it('refuses what is not a number, naming the field', () => {
    const refused = (value: number, more: Partial<ValueExpectation>) => () =>
      questionValue(value, millimetres(10, 0.1, more));
    expect(refused(Number.NaN, {})).toThrow(
      expect.objectContaining({ code: 'not-finite', argument: 'value' }),
    );
    expect(refused(1, { mean: Number.POSITIVE_INFINITY })).toThrow(
      expect.objectContaining({ argument: 'expectation.mean' }),
    );
    expect(refused(1, { standardDeviation: -1 })).toThrow(
      expect.objectContaining({ code: 'out-of-range', argument: 'expectation.standardDeviation' }),
    );
    for (const decimals of [1.5, -1, 16])
      expect(refused(1, { decimals })).toThrow(
        expect.objectContaining({ code: 'out-of-range', argument: 'expectation.decimals' }),
      );
    expect(refused(1, { realWithin: Number.NaN })).toThrow(
      expect.objectContaining({ code: 'not-finite', argument: 'expectation.realWithin' }),
    );
    expect(refused(1, { otherModels: [{ modelId: 'a', name: 'a', nominal: Number.NaN }] })).toThrow(
      expect.objectContaining({ argument: 'expectation.otherModels.0.nominal' }),
    );
  });
});

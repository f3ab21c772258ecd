import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { countDispersion, pPrimeChart } from '../../../src/index.ts';
import { randomSource } from '../../../src/numerics/random.ts';
import { available, binomialSampler, refusal } from './count-samplers.ts';

const parts = [3, 8, 5, 12, 4, 9, 30, 7];
const inspected = [100, 120, 90, 150, 100, 110, 130, 95];
const samples = parts.map((count, index) => ({ count, size: inspected[index]! }));
const metres = [1.5, 2, 1, 2.5, 1.2, 1.8, 2.2, 1.6];
const lengths = parts.map((count, index) => ({ count, size: metres[index]! }));

describe('index of dispersion', () => {
  test('binomial: the chi-square test of a 2 × 8 table (scipy 1.17, chi2_contingency)', () => {
    const found = available(countDispersion(samples, { distribution: 'binomial' }));
    expect(found.statistic).toBeCloseTo(42.71952052634006, 10);
    expect(found.overdispersionProbability / 3.778460967678281e-7).toBeCloseTo(1, 9);
    expect(found).toMatchObject({
      method: 'index of dispersion',
      samples: 8,
      degreesOfFreedom: 7,
      verdict: 'overdispersed',
      zStandardDeviation: available(pPrimeChart(samples)).basis.zStandardDeviation,
    });
    expect(found.ratio).toBeCloseTo(42.71952052634006 / 7, 10);
    expect(found.message).toBe(
      'The counts vary 6.1 times as much as binomial counts would: look for causes of single high or low samples first, then use the p′ chart, because plain limits would call its common causes signals.',
    );
  });

  test('Poisson: Σ (x − e)²/e (scipy 1.17, chi2)', () => {
    const found = available(countDispersion(lengths, { distribution: 'poisson' }));
    expect(found.statistic).toBeCloseTo(31.453327505827502, 10);
    expect(found.overdispersionProbability).toBeCloseTo(5.127438148547905e-5, 14);
    expect(found.underdispersionProbability).toBeCloseTo(0.9999487256185146, 12);
    expect(found.message).toContain('Poisson counts would');
    expect(found.message).toContain('u′ chart');
  });

  test('too little variation, and as much as chance makes', () => {
    const even = Array.from({ length: 20 }, () => ({ count: 20, size: 100 }));
    const found = available(countDispersion(even, { distribution: 'binomial' }));
    expect(found).toMatchObject({
      statistic: 0,
      verdict: 'underdispersed',
      underdispersionProbability: 0,
      zStandardDeviation: 0,
    });
    expect(found.message).toContain('plain limits are then too wide to signal');
    const usual = available(
      countDispersion(samples.with(6, { count: 9, size: 130 }), { distribution: 'binomial' }),
    );
    expect(usual.verdict).toBe('as expected');
    expect(usual.message).toMatch(
      /^The counts vary .* times as much as binomial counts would, which chance explains: the plain chart fits\.$/,
    );
  });

  test('the significance is shared by both sides', () => {
    const at = (significance: number) =>
      available(countDispersion(lengths, { distribution: 'poisson', significance })).verdict;
    expect(at(2.1 * 5.127438148547905e-5)).toBe('overdispersed');
    expect(at(1.9 * 5.127438148547905e-5)).toBe('as expected');
  });

  test('a given standard costs no degree of freedom; a missing sample counts for nothing', () => {
    const found = available(
      countDispersion([...samples, null], { distribution: 'binomial', standard: 0.09 }),
    );
    expect(found).toMatchObject({ degreesOfFreedom: 8, samples: 8 });
  });

  test('the order does not change the test', () => {
    fc.assert(
      fc.property(fc.shuffledSubarray(samples, { minLength: 8 }), (shuffled) => {
        const found = available(countDispersion(shuffled, { distribution: 'binomial' }));
        expect(found.statistic).toBeCloseTo(42.71952052634006, 9);
      }),
      { numRuns: 20 },
    );
  });

  test('calls 5 % of binomial samples wrong (simulation, fixed seed, 4 standard errors)', () => {
    const source = randomSource(17);
    const draw = binomialSampler(100, 0.1);
    let wrong = 0;
    for (let run = 0; run < 1500; run++) {
      const drawn = Array.from({ length: 20 }, () => ({ count: draw(source.uniform()), size: 100 }));
      if (available(countDispersion(drawn, { distribution: 'binomial' })).verdict !== 'as expected') wrong++;
    }
    expect(Math.abs(wrong / 1500 - 0.05)).toBeLessThan(4 * Math.sqrt((0.05 * 0.95) / 1500));
  });

  test('refusals and outcomes', () => {
    const binomial = { distribution: 'binomial' } as const;
    expect(countDispersion([samples[0]!], binomial)).toMatchObject({
      available: false,
      reason: 'too-few-values',
    });
    expect(countDispersion([null], binomial)).toMatchObject({ available: false, reason: 'too-few-values' });
    const rare = [
      { count: 0, size: 9 },
      { count: 1, size: 9 },
    ];
    expect(countDispersion(rare, binomial)).toMatchObject({
      available: false,
      reason: 'outside-method',
      message: expect.stringContaining('expected to hold 0.50 events'),
    });
    const good = rare.map(({ size }, index) => ({ count: size - index, size }));
    expect(countDispersion(good, binomial)).toMatchObject({ available: false, reason: 'outside-method' });
    expect(countDispersion(good, { distribution: 'poisson' })).toMatchObject({ available: true });
    expect(
      countDispersion(
        [
          { count: 1, size: 9 },
          { count: 1, size: 9 },
        ],
        binomial,
      ),
    ).toMatchObject({ available: true });
    expect(refusal(() => countDispersion(samples, { distribution: 'normal' as 'binomial' }))).toBe(
      'unknown-name options.distribution',
    );
    expect(refusal(() => countDispersion(samples, { ...binomial, significance: 1 }))).toBe(
      'out-of-range options.significance',
    );
    expect(refusal(() => countDispersion([], binomial))).toBe('empty samples');
    expect(refusal(() => countDispersion(samples, { ...binomial, standard: 2 }))).toBe(
      'out-of-range options.standard',
    );
  });
});

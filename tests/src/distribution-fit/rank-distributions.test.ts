import { describe, expect, it } from 'vitest';
import { functionsOf } from '../../../src/distribution-fit/families.ts';
import { tailSentence } from '../../../src/distribution-fit/tail-sentence.ts';
import { type Distribution, goodnessOfFit, type Physics, rankDistributions } from '../../../src/index.ts';
import { randomSource } from '../../../src/numerics/random.ts';

function sampleOf(example: Distribution, size: number, seed = 1): number[] {
  const random = randomSource(seed);
  const { draw } = functionsOf(example);
  return Array.from({ length: size }, () => draw(random));
}

const holes: Distribution = { distribution: 'rayleigh', parameters: { sigma: 0.064 } };
const burr: Distribution = { distribution: 'lognormal', parameters: { mu: -2.5, sigma: 0.5 } };
const bore: Distribution = { distribution: 'normal', parameters: { mu: 80.07, sigma: 0.012 } };

describe('rankDistributions', () => {
  it('finds the shape that the values came from among those of the physics', () => {
    expect(rankDistributions(sampleOf(holes, 300), { physics: 'position' }).recommended).toBe('rayleigh');
    expect(rankDistributions(sampleOf(burr, 300), { physics: 'bounded-at-zero' }).recommended).toBe(
      'lognormal',
    );
    expect(rankDistributions(sampleOf(bore, 300), { physics: 'two-sided' }).recommended).toBe('normal');
  });

  it('fits only what the physics allows', () => {
    const names = (physics: Physics) =>
      rankDistributions(sampleOf(burr, 60), { physics })
        .candidates.map(({ distribution }) => distribution)
        .sort();
    expect(names('bounded-at-zero')).toEqual(['folded-normal', 'gamma', 'lognormal', 'rayleigh', 'weibull']);
    expect(names('position')).toEqual(['folded-normal', 'rayleigh', 'weibull']);
    expect(names('two-sided')).toEqual(['johnson-sb', 'johnson-su', 'normal']);
    expect(names('unknown')).toHaveLength(9);
    expect(names('wear')).toEqual([]);
  });

  it('lists the best score first, with the distance to it', () => {
    const { candidates } = rankDistributions(sampleOf(burr, 200), { physics: 'bounded-at-zero' });
    expect(candidates[0]).toMatchObject({
      difference: 0,
      message: expect.stringContaining('The best score'),
    });
    for (const [index, candidate] of candidates.entries()) {
      if (!candidate.fit.available) throw new Error('every shape can be fitted');
      const k = candidate.distribution === 'rayleigh' ? 1 : 2;
      // AICc by hand.
      expect(candidate.akaikeCorrected).toBeCloseTo(
        2 * k - 2 * candidate.fit.logLikelihood + (2 * k * (k + 1)) / (200 - k - 1),
        9,
      );
      expect(candidate.difference).toBeCloseTo(
        candidate.akaikeCorrected! - candidates[0]!.akaikeCorrected!,
        12,
      );
      if (index > 0) expect(candidate.difference!).toBeGreaterThanOrEqual(candidates[index - 1]!.difference!);
    }
    expect(candidates.at(-1)!.message).toContain('clearly worse');
  });

  it('says that wear has no single distribution', () => {
    const ranking = rankDistributions([0.1, 0.2, 0.3], { physics: 'wear' });
    expect(ranking.recommended).toBeNull();
    expect(ranking.message).toContain('trend chart');
    expect(ranking.message).toContain('time-dependent');
  });

  it('lets physics alone decide for fewer than 20 values', () => {
    const few = sampleOf(burr, 19, 4);
    const ranking = rankDistributions(few, { physics: 'bounded-at-zero' });
    expect(ranking.recommended).toBe('folded-normal');
    expect(ranking.message).toContain('19 values cannot choose a shape');
    expect(ranking.message).toContain('0.135 % tail');
    const enough = rankDistributions([...few, ...sampleOf(burr, 60, 5)], { physics: 'bounded-at-zero' });
    expect(enough.message).not.toContain('cannot choose');
    expect(enough.message).toContain('0.135 % tail');
  });

  it('asks for both coordinates when positions are not Rayleigh', () => {
    // Holes well off centre: the distance hardly varies.
    const offCentre = sampleOf({ distribution: 'folded-normal', parameters: { mu: 0.3, sigma: 0.03 } }, 100);
    const ranking = rankDistributions(offCentre, { physics: 'position' });
    expect(ranking.recommended).toBe('folded-normal');
    expect(ranking.message).toContain('bivariate position');
  });

  it('names rivals that the values cannot tell apart', () => {
    const ranking = rankDistributions(
      sampleOf({ distribution: 'gamma', parameters: { shape: 3, scale: 0.1 } }, 40),
      {
        physics: 'bounded-at-zero',
      },
    );
    const rivals = ranking.candidates.filter(
      ({ difference, distribution }) => difference! < 2 && distribution !== ranking.recommended,
    );
    expect(rivals.length).toBeGreaterThan(0);
    for (const { distribution, difference, message } of rivals) {
      expect(ranking.message).toContain(distribution);
      if (difference !== 0)
        expect(message).toMatch(/The values cannot tell it from the best \(AICc [\d.]+ above\)\.$/);
    }
    const named = /cannot tell it from (.*)\. Compare/.exec(ranking.message)![1]!;
    expect(named.split(', ').sort()).toEqual(rivals.map(({ distribution }) => distribution).sort());
    expect(ranking.message).toMatch(/^[A-Z].*\. \S+ is the most natural shape;/);
    expect(ranking.message).toContain('Compare their outer percentiles');
  });

  it('puts aside what cannot hold the values, with the reason', () => {
    const { candidates, recommended } = rankDistributions([0, ...sampleOf(holes, 30)], {
      physics: 'position',
    });
    expect(recommended).toBe('folded-normal');
    const rayleigh = candidates.find(({ distribution }) => distribution === 'rayleigh')!;
    expect(rayleigh).toMatchObject({
      fit: { available: false, reason: 'outside-method' },
      akaikeCorrected: null,
      difference: null,
      message: expect.stringContaining('values.0'),
    });
    expect(candidates.at(-1)!.difference).toBeNull();
    expect(rankDistributions([-1, -2, -3], { physics: 'position' })).toMatchObject({
      recommended: null,
      message: expect.stringContaining('None of these shapes'),
    });
  });

  it('does not depend on order or unit', () => {
    const values = sampleOf(burr, 50);
    const options = { physics: 'bounded-at-zero' } as const;
    expect(rankDistributions(Object.freeze([...values].reverse()), options)).toEqual(
      rankDistributions(values, options),
    );
    const order = (data: number[]) =>
      rankDistributions(data, options).candidates.map((one) => one.distribution);
    expect(order(values.map((value) => value * 1000))).toEqual(order(values));
  });

  it('refuses bad arguments by name', () => {
    expect(() => rankDistributions([1], { physics: 'magic' as Physics })).toThrow(
      expect.objectContaining({ code: 'unknown-name', argument: 'options.physics' }),
    );
    expect(() => rankDistributions([], { physics: 'wear' })).toThrow(
      expect.objectContaining({ code: 'empty', argument: 'values' }),
    );
    expect(() => rankDistributions([1, Number.NaN], { physics: 'unknown' })).toThrow(
      expect.objectContaining({ code: 'not-finite', argument: 'values.1' }),
    );
  });
});

describe('what a sample says about the 0.135 % tail', () => {
  it('gives the chance that it was seen at all', () => {
    // 1 − 0.99865³⁰ = 0.03971…, 1 − 0.99865⁵⁰⁰ = 0.4911….
    expect(tailSentence(30)).toContain('one lies in it is 4.0 %');
    expect(tailSentence(500)).toContain('one lies in it is 49 %');
    expect(tailSentence(1999)).toContain('say little');
    expect(tailSentence(2000)).toContain('About 3 of 2000');
  });
});

describe('goodnessOfFit', () => {
  const values = sampleOf(holes, 40, 9);

  it('repeats itself for the same seed, and names how the p-value came about', () => {
    const options = { distribution: 'rayleigh', resamples: 199, seed: 5 } as const;
    const first = goodnessOfFit(values, options);
    expect(goodnessOfFit([...values].reverse(), options)).toEqual(first);
    expect(first).toMatchObject({
      available: true,
      method: 'Anderson-Darling, parametric bootstrap',
      resamples: 199,
      seed: 5,
      message: expect.stringContaining('Nothing speaks against a Rayleigh distribution'),
    });
    if (!first.available) return;
    expect(first.statistic).toBe(first.fitted.andersonDarling);
    expect(first.akaikeCorrected).toBeCloseTo(2 - 2 * first.fitted.logLikelihood + 4 / 38, 10);
    expect(first.fitted).not.toHaveProperty('available');
    expect(first.pValue).toBeGreaterThan(0);
    expect(first.pValue).toBeLessThanOrEqual(1);
    expect(first.message).toContain(
      `(simulated p = ${first.pValue.toPrecision(2)}). But 40 values see only gross departures; the far tail`,
    );
    expect(Number.isInteger(Math.round(first.pValue * 200 * 1e9) / 1e9)).toBe(true);
    expect(goodnessOfFit(values, { ...options, seed: 6 })).not.toMatchObject({ pValue: first.pValue });
  });

  it('rejects a wrong shape and rarely the right one', () => {
    const wrong = goodnessOfFit(sampleOf(burr, 200), { distribution: 'rayleigh', resamples: 199 });
    expect(wrong).toMatchObject({ pValue: 1 / 200, message: expect.stringContaining('do not look like') });
    let rejected = 0;
    for (let seed = 0; seed < 120; seed++) {
      const result = goodnessOfFit(sampleOf(holes, 20, seed), {
        distribution: 'weibull',
        resamples: 99,
        seed,
      });
      if (result.available && result.pValue <= 0.1) rejected++;
    }
    // 10 % of 120 are 12, standard deviation 3.3.
    expect(rejected).toBeGreaterThanOrEqual(2);
    expect(rejected).toBeLessThanOrEqual(24);
  });

  it('agrees with the published test of normality', () => {
    // Table 4.7 of D'Agostino and Stephens 1986: an adjusted statistic of 0.752 has p = 0.05.
    const data = [...Array.from({ length: 30 }, (_, index) => index), 44];
    const result = goodnessOfFit(data, { distribution: 'normal', resamples: 1999 });
    if (!result.available) throw new Error(result.message);
    expect(result.resamples).toBe(1999);
    expect(result.pValue).toBeGreaterThan(0.3);
  });

  it('refuses or says what it cannot do', () => {
    const call = (resamples: number) => () => goodnessOfFit(values, { distribution: 'weibull', resamples });
    for (const resamples of [98, 2000])
      expect(call(resamples)).toThrow(
        expect.objectContaining({ code: 'out-of-range', argument: 'options.resamples' }),
      );
    expect(call(99.5)).toThrow(
      expect.objectContaining({ code: 'not-an-integer', argument: 'options.resamples' }),
    );
    expect(() => goodnessOfFit(values, { distribution: 'weibull', seed: Number.NaN })).toThrow(
      expect.objectContaining({ code: 'not-finite', argument: 'options.seed' }),
    );
    expect(goodnessOfFit([2, 2, 2], { distribution: 'weibull' })).toMatchObject({ reason: 'no-variation' });
    const many = Array.from({ length: 5001 }, (_, index) => index);
    expect(goodnessOfFit(many, { distribution: 'normal' })).toMatchObject({
      available: false,
      reason: 'outside-method',
    });
  });
});

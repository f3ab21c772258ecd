import { describe, expect, it } from 'vitest';
import { binomialUpperTail } from '../../../src/numerics/binomial.ts';
import {
  noncentralityOf,
  noncentralTCumulative,
  noncentralTQuantile,
} from '../../../src/numerics/noncentral-t.ts';
import { normalLowerTail, normalQuantile, normalUpperTail } from '../../../src/numerics/normal.ts';
import { monotoneRoot } from '../../../src/numerics/root.ts';

describe('normal tails', () => {
  it('have no seam where the method changes', () => {
    for (const seam of [-0.5, 0.5, 6.5 * Math.SQRT2]) {
      const before = normalUpperTail(seam - 1e-9);
      const after = normalUpperTail(seam + 1e-9);
      const density = Math.exp((-seam * seam) / 2) / Math.sqrt(2 * Math.PI);
      expect(Math.abs((before - after) / (2e-9 * density) - 1)).toBeLessThan(1e-5);
    }
  });

  it('add up to one, and vanish beyond the range of numbers', () => {
    for (let z = -6; z <= 6; z += 0.37) expect(normalLowerTail(z) + normalUpperTail(z)).toBeCloseTo(1, 15);
    expect(normalUpperTail(50)).toBe(0);
    expect(normalUpperTail(-50)).toBe(1);
    expect(normalQuantile(0.5)).toBe(0);
  });
});

describe('noncentral t', () => {
  it('joins its two methods without a step', () => {
    // At 30 readings the method changes between these noncentralities; the ratio to t settles smoothly.
    const ratios = [60, 64, 68, 72, 76, 80].map((index) => {
      const t = 3 * Math.sqrt(30) * index;
      return noncentralityOf(t, 29, 0.95)! / t;
    });
    const steps = ratios.slice(1).map((ratio, position) => ratio - ratios[position]!);
    for (const step of steps) {
      expect(step).toBeGreaterThan(0);
      expect(step).toBeLessThan(1e-6);
    }
  });

  it('is finite and quick for noncentralities without end', () => {
    const t = 3 * Math.sqrt(5) * 1e11;
    const noncentrality = noncentralityOf(t, 4, 0.95)!;
    expect(noncentralTCumulative(t, 4, noncentrality)).toBeCloseTo(0.95, 12);
    // √(χ²(0.05, 4)/4) = 0.42152…: 0.710723021397324 is chi2.ppf(0.05, 4) of scipy 1.17.1.
    expect(noncentrality / t).toBeCloseTo(Math.sqrt(0.710723021397324 / 4), 9);
    expect(noncentralTCumulative(-t, 4, noncentrality)).toBe(0);
    expect(noncentralTCumulative(t, 4, -noncentrality)).toBe(1);
    expect(noncentralTQuantile(0.95, 4, -noncentrality)).toBeLessThan(0);
  });
});

describe('monotoneRoot', () => {
  it('widens a bracket that holds no root', () => {
    expect(monotoneRoot((x) => x ** 3 - 1e6, 0, 1)).toBeCloseTo(100, 9);
    expect(monotoneRoot((x) => -x - 50, 0, 1)).toBeCloseTo(-50, 9);
  });
  it('says so where there is none', () => {
    expect(monotoneRoot((x) => 1 + Math.exp(-Math.abs(x)), 0, 1)).toBeNull();
  });
});

describe('binomial upper tail', () => {
  // Source of all values: binom.sf(count - 1, trials, probability) of scipy 1.17.1.
  it.each([
    [4, 310, 0.003, 0.014828658675319939],
    [5, 310, 0.003, 0.0026387209829901344],
    [1, 310, 0.0001, 0.03052592971013424],
    [0, 10, 0.3, 1],
    [10, 10, 0.3, 5.9048999999999975e-6],
    [5, 20, 0.25, 0.5851584974698198],
    [30, 1000, 0.0123, 1.1974257657705883e-5],
    [60, 100_000, 0.0004, 0.0018757625175073928],
    [2, 5, 0.5, 0.8125],
    [200, 310, 0.1, 1.7053469647183175e-119],
  ])('P(X ≥ %d) of %d at %d', (count, trials, probability, expected) => {
    expect(Math.abs(binomialUpperTail(count, trials, probability) / expected - 1)).toBeLessThan(1e-11);
  });

  it('is 0 and 1 where nothing else can be written', () => {
    expect(binomialUpperTail(200, 310, 1e-9)).toBe(0);
    expect(binomialUpperTail(300, 1000, 0.5)).toBe(1);
  });

  it('equals the sum of the terms, and falls with the count', () => {
    let sum = 0;
    let choose = 1;
    for (let k = 12; k >= 1; k--) {
      choose = k === 12 ? 1 : (choose * (k + 1)) / (12 - k);
      sum += choose * 0.3 ** k * 0.7 ** (12 - k);
      expect(binomialUpperTail(k, 12, 0.3)).toBeCloseTo(sum, 13);
    }
  });
});

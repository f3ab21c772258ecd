import { describe, expect, test } from 'vitest';
import { keyedUuid, philox, Substream, type SubstreamKey } from '../../demo-data/generator/random.ts';

const hex = (words: Uint32Array) => Array.from(words, (word) => word.toString(16).padStart(8, '0')).join(' ');
const key: SubstreamKey = { seed: 7, purpose: 'readings', characteristic: 5, place: 1, index: 0 };

describe('the counter-based generator', () => {
  // Known answers of the authors' own distribution for philox4x32, 10 rounds (cited from memory).
  test.each([
    [[0, 0, 0, 0], [0, 0], '6627e8d5 e169c58d bc57ac4c 9b00dbd8'],
    [
      [0xffffffff, 0xffffffff, 0xffffffff, 0xffffffff],
      [0xffffffff, 0xffffffff],
      '408f276d 41c83b0e a20bc7c6 6d5451fd',
    ],
    [
      [0x243f6a88, 0x85a308d3, 0x13198a2e, 0x03707344],
      [0xa4093822, 0x299f31d0],
      'd16cfe09 94fdcceb 5001e420 24126ea1',
    ],
  ] as const)('known answer for counter %j', (counter, words, expected) => {
    const drawn = new Uint32Array(4);
    philox(drawn, counter, words);
    expect(hex(drawn)).toBe(expected);
  });

  test('every part of the key leads to other draws', () => {
    const variants: SubstreamKey[] = [
      key,
      { ...key, seed: 8 },
      { ...key, seed: 7 + 2 ** 32 },
      { ...key, purpose: 'lot' },
      { ...key, characteristic: 6 },
      { ...key, place: 2 },
      { ...key, index: 1 },
    ];
    expect(new Set(variants.map((variant) => new Substream(variant).uniform())).size).toBe(variants.length);
  });

  test('the same key gives the same draws, and identifiers of the standard form', () => {
    const draws = (random: Substream) => [random.uniform(), random.normal(), random.exponential()];
    expect(draws(new Substream(key))).toEqual(draws(new Substream(key)));
    expect(keyedUuid(key)).toBe(keyedUuid(key));
    expect(keyedUuid(key)).toMatch(/^[0-9a-f]{8}-[0-9a-f]{4}-8[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$/);
  });
});

describe('distributions', () => {
  const draws = 40_000;
  const average = (draw: (random: Substream) => number, power = 1) => {
    let sum = 0;
    for (let index = 0; index < draws; index++) sum += draw(new Substream({ ...key, index })) ** power;
    return sum / draws;
  };

  // Means and variances from the textbook formulas; bounds are four standard errors.
  test.each([
    ['uniform', (r: Substream) => r.uniform(), 1 / 2, 1 / 12],
    ['normal', (r: Substream) => r.normal(), 0, 1],
    [
      'second normal of a pair',
      (r: Substream) => {
        r.normal();
        return r.normal();
      },
      0,
      1,
    ],
    ['exponential', (r: Substream) => r.exponential(), 1, 1],
    ['Rayleigh', (r: Substream) => r.rayleigh(), Math.sqrt(Math.PI / 2), 2 - Math.PI / 2],
    // Weibull with shape 2 is a Rayleigh distribution.
    ['Weibull', (r: Substream) => r.weibull(2, Math.SQRT2), Math.sqrt(Math.PI / 2), 2 - Math.PI / 2],
    ['binomial', (r: Substream) => r.binomial(310, 0.003), 0.93, 310 * 0.003 * 0.997],
  ] as const)('%s', (_name, draw, mean, variance) => {
    const found = average(draw);
    expect(Math.abs(found - mean)).toBeLessThan(4 * Math.sqrt(variance / draws));
    const secondMoment = average(draw, 2);
    // The fourth moments here are below 30 variances squared.
    expect(Math.abs(secondMoment - found ** 2 - variance)).toBeLessThan(4 * variance * Math.sqrt(30 / draws));
  });

  test('binomial probabilities, one by one', () => {
    const counts = new Map<number, number>();
    for (let index = 0; index < draws; index++) {
      const count = new Substream({ ...key, index }).binomial(310, 0.003);
      counts.set(count, (counts.get(count) ?? 0) + 1);
    }
    for (const [count, p] of [
      [0, 0.997 ** 310],
      [1, 310 * 0.003 * 0.997 ** 309],
      [2, ((310 * 309) / 2) * 0.003 ** 2 * 0.997 ** 308],
    ] as const) {
      expect(Math.abs((counts.get(count) ?? 0) / draws - p)).toBeLessThan(
        4 * Math.sqrt((p * (1 - p)) / draws),
      );
    }
  });
});

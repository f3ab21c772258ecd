import { describe, expect, it } from 'vitest';
import { compareCount } from '../../../src/index.ts';

const samples = (length: number, nonconforming: number) =>
  Array.from({ length }, () => ({ inspected: 310, nonconforming }));
const of310 = (nonconforming: number) => ({ inspected: 310, nonconforming });

describe('compareCount', () => {
  it('tells a flood of bad parts from an ordinary hour', () => {
    const quiet = samples(25, 1);
    const ordinary = compareCount(of310(3), quiet)!;
    expect(ordinary).toMatchObject({ samples: 25, farAbove: false });
    expect(ordinary.share).toBeCloseTo(25.5 / 7751, 15);
    // Source: binom.sf(2, 310, 25.5 / 7751) and binom.sf(7, …) of scipy 1.17.1.
    expect(ordinary.probability / 0.08368873078810747 - 1).toBeCloseTo(0, 11);
    const flood = compareCount(of310(8), quiet)!;
    expect(flood.probability / 1.1000184967270104e-5 - 1).toBeCloseTo(0, 11);
    expect(flood.farAbove).toBe(true);
    expect(compareCount(of310(200), quiet)?.farAbove).toBe(true);
  });

  it('expects few, not none, after a history of zeros', () => {
    // Source: binom.sf(k - 1, 310, 0.5 / 1551) of scipy 1.17.1.
    const zeros = samples(5, 0);
    expect(compareCount(of310(0), zeros)).toMatchObject({ probability: 1, farAbove: false });
    expect(compareCount(of310(1), zeros)!.probability).toBeCloseTo(0.09511882040842852, 12);
    expect(compareCount(of310(2), zeros)!.farAbove).toBe(false);
    expect(compareCount(of310(3), zeros)!.farAbove).toBe(true);
  });

  it('compares with nothing while there is no history', () => {
    expect(compareCount(of310(200), [])).toBeNull();
    expect(compareCount(of310(200), samples(4, 0))).toBeNull();
    expect(compareCount(of310(200), samples(5, 0))).not.toBeNull();
  });

  it('does not let one bad hour make the next look usual', () => {
    const withFlood = [...samples(23, 1), of310(200), of310(150)];
    expect(compareCount(of310(20), withFlood)).toMatchObject({ samples: 23, farAbove: true });
    // Where bad parts are usual, they are.
    expect(compareCount(of310(20), samples(25, 18))?.farAbove).toBe(false);
  });

  it('takes parts of any number inspected together', () => {
    const mixed = [
      ...samples(10, 1),
      ...Array.from({ length: 10 }, () => ({ inspected: 31, nonconforming: 0 })),
    ];
    expect(compareCount({ inspected: 31, nonconforming: 1 }, mixed)!.share).toBeCloseTo(10.5 / 3411, 15);
  });

  it('refuses counts that cannot be, naming the field', () => {
    const refused = (argument: string) => expect.objectContaining({ code: 'out-of-range', argument });
    expect(() => compareCount(of310(311), [])).toThrow(refused('count.nonconforming'));
    expect(() => compareCount(of310(-1), [])).toThrow(refused('count.nonconforming'));
    expect(() => compareCount(of310(Number.NaN), [])).toThrow(refused('count.nonconforming'));
    expect(() => compareCount({ inspected: 0, nonconforming: 0 }, [])).toThrow(refused('count.inspected'));
    expect(() => compareCount(of310(0), [of310(0), of310(0.5)])).toThrow(refused('recent.1.nonconforming'));
  });
});

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { fractionOutsideCircle, patternPerformance, positionPerformance } from '../../../src/index.ts';
import { randomSource } from '../../../src/numerics/random.ts';
import { found, refusal } from './outcomes.ts';

const drawn = (seed: number, n: number, offset = 0, larger = 0.05, smaller = 0.04) => {
  const random = randomSource(seed);
  return Array.from({ length: n }, () => ({
    x: offset + larger * random.normal(),
    y: smaller * random.normal(),
  }));
};
const options = { toleranceDiameter: 0.4, resamples: 100 };
const stability = { points: 25, signals: 0, expectedFalseSignals: 0.07 };

describe('fractionOutsideCircle', () => {
  const distribution = { meanX: 0.05, meanY: -0.02, varianceX: 0.004, varianceY: 0.002, covariance: 0.001 };
  it('is the Rayleigh tail for round scatter in the middle, however far out', () => {
    for (const radius of [0.5, 2, 6, 30]) {
      const round = { meanX: 0, meanY: 0, varianceX: 1, varianceY: 1, covariance: 0 };
      const { fraction } = found(fractionOutsideCircle(round, radius));
      expect(fraction / Math.exp((-radius * radius) / 2)).toBeCloseTo(1, 10);
    }
  });
  it('does not change when everything is turned, mirrored or rescaled', () => {
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 359 }), fc.constantFrom(0.001, 1, 1000), (degrees, unit) => {
        const [c, s] = [Math.cos((degrees * Math.PI) / 180), Math.sin((degrees * Math.PI) / 180)];
        const { meanX: x, meanY: y, varianceX: a, varianceY: b, covariance: k } = distribution;
        const turned = {
          meanX: unit * (c * x - s * y),
          meanY: unit * (s * x + c * y),
          varianceX: unit ** 2 * (c * c * a - 2 * c * s * k + s * s * b),
          varianceY: unit ** 2 * (s * s * a + 2 * c * s * k + c * c * b),
          covariance: unit ** 2 * (c * s * (a - b) + (c * c - s * s) * k),
        };
        const one = found(fractionOutsideCircle(distribution, 0.2)).fraction;
        expect(found(fractionOutsideCircle(turned, 0.2 * unit)).fraction / one).toBeCloseTo(1, 9);
      }),
      { numRuns: 30 },
    );
  });
  it('falls with the radius and rises with the offset', () => {
    const at = (radius: number, meanX = 0.05) =>
      found(fractionOutsideCircle({ ...distribution, meanX }, radius)).fraction;
    expect(at(0.21)).toBeLessThan(at(0.2));
    expect(at(0.2, 0.06)).toBeGreaterThan(at(0.2));
    expect(at(0.001)).toBeGreaterThan(0.99);
  });
  it('names a line, and refuses, naming the field', () => {
    expect(refusal(fractionOutsideCircle({ ...distribution, covariance: Math.sqrt(0.000008) }, 0.2))).toBe(
      'singular-covariance',
    );
    const refuses = (change: object, argument: string, radius = 0.2) =>
      expect(() => fractionOutsideCircle({ ...distribution, ...change }, radius)).toThrow(
        expect.objectContaining({ argument }),
      );
    refuses({ meanX: Number.NaN }, 'distribution.meanX');
    refuses({ varianceY: 0 }, 'distribution.varianceY');
    refuses({}, 'radius', 0);
    refuses({ meanX: 1e60 }, 'distribution');
  });
});

describe('positionPerformance', () => {
  it('has an ellipse index no better than the index, and bounds around both', () => {
    fc.assert(
      fc.property(fc.integer(), fc.constantFrom(0, 0.05, 0.15, 0.3), (seed, offset) => {
        const result = found(positionPerformance(drawn(seed, 20, offset), options));
        expect(result.ellipseIndex.estimate).toBeLessThanOrEqual(result.index.estimate + 1e-9);
        for (const index of [result.index, result.ellipseIndex]) {
          expect(index.lower).toBeLessThanOrEqual(index.lowerBound);
          expect(index.lowerBound).toBeLessThanOrEqual(index.upperBound);
          expect(index).toMatchObject({ sampleSize: 20, method: 'bias-corrected bootstrap', exact: false });
        }
        expect(result.offset).toBeCloseTo(
          Math.hypot(result.distribution.meanX, result.distribution.meanY),
          12,
        );
      }),
      { numRuns: 15 },
    );
  });
  it('does not change with the unit, and repeats itself with its seed', () => {
    const positions = drawn(3, 40, 0.03);
    const one = found(positionPerformance(positions, options));
    expect(found(positionPerformance(positions, options))).toEqual(one);
    const micrometres = found(
      positionPerformance(
        positions.map(({ x, y }) => ({ x: 1000 * x, y: 1000 * y })),
        { ...options, toleranceDiameter: 400 },
      ),
    );
    expect(micrometres.index.lowerBound).toBeCloseTo(one.index.lowerBound, 8);
    expect(micrometres.largerStandardDeviation / one.largerStandardDeviation).toBeCloseTo(1000, 8);
    expect(found(positionPerformance(positions, { ...options, seed: 2 })).index.lowerBound).not.toBe(
      one.index.lowerBound,
    );
    const wider = found(positionPerformance(positions, { ...options, toleranceDiameter: 0.5 }));
    expect(wider.index.estimate).toBeGreaterThan(one.index.estimate);
    expect(wider.index.lowerBound).toBeGreaterThan(one.index.lowerBound);
  });
  it('says what to do first, and gives a verdict only where it may', () => {
    const of = (positions: { x: number; y: number }[], change: object = {}) =>
      found(positionPerformance(positions, { ...options, stability, ...change }));
    expect(of(drawn(5, 60, 0.1)).message).toContain('move the tool first');
    expect(of(drawn(5, 60, 0, 0.06, 0.02)).message).toContain('one direction');
    expect(of(drawn(5, 60)).message).toContain('only less spread');
    expect(of(drawn(5, 60, 0, 0.02, 0.02)).verdict.level).toBe('proven');
    expect(of(drawn(5, 60, 0.1)).verdict.level).toBe('disproven');
    expect(of(drawn(5, 20)).verdict.doubts.map(({ reason }) => reason)).toEqual(['too-few']);
    expect(of(drawn(5, 60), { stability: null }).verdict.level).toBe('not-to-be-quoted');
    const skewed = drawn(5, 60).map(({ x, y }) => ({ x: Math.exp(40 * x) / 100, y }));
    expect(of(skewed).verdict.doubts.map(({ reason }) => reason)).toEqual(['not-normal']);
    expect(of([...drawn(5, 60), { x: 0.5, y: 0 }]).observedOutside).toBe(1);
  });
  it('names what has no answer, and refuses, naming the field', () => {
    expect(refusal(positionPerformance(drawn(1, 9), options))).toBe('too-few-values');
    expect(refusal(positionPerformance(Array(12).fill({ x: 1, y: 1 }), options))).toBe('no-variation');
    const line = drawn(1, 12).map(({ x }) => ({ x, y: 2 * x }));
    expect(refusal(positionPerformance(line, options))).toBe('singular-covariance');
    expect(() => positionPerformance(drawn(1, 12).with(3, { x: Number.NaN, y: 0 }), options)).toThrow(
      expect.objectContaining({ code: 'not-finite', argument: 'positions.3.x' }),
    );
    expect(() => positionPerformance(drawn(1, 12), { toleranceDiameter: 0 })).toThrow(
      expect.objectContaining({ argument: 'options.toleranceDiameter' }),
    );
    expect(() => positionPerformance(drawn(1, 12).with(3, { x: 1e20, y: 0 }), options)).toThrow(
      expect.objectContaining({ code: 'out-of-range', argument: 'positions.3' }),
    );
  });
});

describe('patternPerformance', () => {
  const holes = [
    { name: 'A', positions: drawn(1, 30) },
    { name: 'B', positions: drawn(2, 30, 0.1) },
    { name: 'C', positions: drawn(3, 30) },
  ];
  it('names the worst hole and counts parts, not holes', () => {
    const result = found(patternPerformance(holes, options));
    expect(result.worst).toBe('B');
    expect(result.message).toMatch(/^Hole B is the worst\./);
    const bounds = result.holes.map(({ performance }) => performance.index.lowerBound);
    expect(result.worstLowerBound).toBe(Math.min(...bounds));
    const fractions = result.holes.map(({ performance }) => performance.fractionOutside.estimate);
    expect(result.fractionOutside.atLeast).toBe(Math.max(...fractions));
    expect(result.fractionOutside.atMost).toBeCloseTo(fractions[0]! + fractions[1]! + fractions[2]!, 12);
    const outside = holes.map(({ name, positions }) => ({
      name,
      positions: positions.with(4, { x: 1, y: 0 }),
    }));
    expect(found(patternPerformance(outside, options)).observedPartsOutside).toBe(1);
  });
  it('refuses, naming hole and field', () => {
    const refuses = (given: typeof holes, code: string, argument: string) =>
      expect(() => patternPerformance(given, options)).toThrow(expect.objectContaining({ code, argument }));
    refuses([], 'empty', 'holes');
    refuses(holes.with(1, { name: 'B', positions: drawn(1, 29) }), 'sizes-differ', 'holes.1.positions');
    const bad = { name: 'B', positions: drawn(1, 30).with(2, { x: 0, y: Infinity }) };
    refuses(holes.with(1, bad), 'not-finite', 'holes.1.positions.2.y');
    const result = patternPerformance(
      holes.with(1, { name: 'B', positions: Array(30).fill({ x: 0, y: 0 }) }),
      options,
    );
    expect(result).toMatchObject({ available: false, reason: 'no-variation' });
    expect(result.available ? '' : result.message).toMatch(/^Hole B: /);
  });
});

import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { type WearLine, type WearSample, wearCrossing, wearLine } from '../../../src/index.ts';
import { leastSquares } from '../../../src/numerics/least-squares.ts';
import { randomSource } from '../../../src/numerics/random.ts';

const sample = fc.record({
  hits: fc.nat({ max: 300 }).map((hundreds) => 100 * hundreds),
  value: fc.integer({ min: 2400, max: 2600 }).map((thousandths) => thousandths / 1000),
  tool: fc.nat({ max: 2 }),
});
const series = fc.array(sample, { minLength: 6, maxLength: 30 });

function simulated(seed: number, perTool: number, tools: number, slope: number, sd: number): WearSample[] {
  const { normal } = randomSource(seed);
  return Array.from({ length: perTool * tools }, (_, i) => {
    const hits = 100 * (1 + (i % perTool));
    return { hits, value: 5 + slope * hits + sd * normal(), tool: Math.floor(i / perTool) };
  });
}

function lineOf(samples: readonly WearSample[]): WearLine {
  const line = wearLine(samples);
  if (!line.available) throw new Error(line.message);
  return line;
}

describe('wearLine', () => {
  test('is the least-squares fit with one column a tool and one for the hits', () => {
    fc.assert(
      fc.property(series, (samples) => {
        const line = wearLine(samples);
        if (!line.available) return;
        const tools = [...new Set(samples.map(({ tool }) => tool))];
        const fit = leastSquares(
          samples.map(({ hits, tool }) => [...tools.map((one) => (one === tool ? 1 : 0)), hits]),
          samples.map(({ value }) => value),
        );
        expect(fit).not.toBeNull();
        const { coefficients, standardErrors, residualStandardDeviation, degreesOfFreedom } = fit!;
        expect(line.slope).toBeCloseTo(coefficients.at(-1)!, 12);
        expect(line.cycles.map(({ tool }) => tool)).toEqual(tools);
        line.cycles.forEach(({ intercept }, i) => {
          expect(intercept).toBeCloseTo(coefficients[i]!, 9);
        });
        expect(line.residualStandardDeviation).toBeCloseTo(residualStandardDeviation, 10);
        expect(line.slopeStandardError / standardErrors.at(-1)!).toBeCloseTo(1, 7);
        expect(line).toMatchObject({ method: 'analysis of covariance', degreesOfFreedom });
        expect(line.currentTool).toBe(samples.at(-1)!.tool);
      }),
      { numRuns: 80 },
    );
  });

  test('scales with both units and shifts with the level', () => {
    fc.assert(
      fc.property(series, (samples) => {
        const line = wearLine(samples);
        const other = wearLine(
          samples.map(({ hits, value, tool }) => ({ hits: hits / 1000, value: 1000 * value - 7, tool })),
        );
        expect(other.available).toBe(line.available);
        if (!line.available || !other.available) return;
        expect(other.slope / 1e6).toBeCloseTo(line.slope, 9);
        expect(other.slopeT).toBeCloseTo(line.slopeT, 5);
        expect(other.residualStandardDeviation / 1000).toBeCloseTo(line.residualStandardDeviation, 9);
        expect((other.cycles[0]!.intercept + 7) / 1000).toBeCloseTo(line.cycles[0]!.intercept, 9);
        if (line.slopeHomogeneity !== null)
          expect(other.slopeHomogeneity!.pValue).toBeCloseTo(line.slopeHomogeneity.pValue, 6);
      }),
      { numRuns: 50 },
    );
  });

  test('a slope of 0 is called significant as often as promised, and so are unequal slopes', () => {
    let slopes = 0;
    let unequal = 0;
    for (let seed = 1; seed <= 400; seed++) {
      const line = lineOf(simulated(seed, 6, 3, 0, 0.1));
      if (line.slopePValue < 0.1) slopes++;
      if (line.slopeHomogeneity!.pValue < 0.1) unequal++;
    }
    // 40 expected, standard deviation 6.
    expect(Math.abs(slopes - 40)).toBeLessThan(24);
    expect(Math.abs(unequal - 40)).toBeLessThan(24);
  });

  test('a cycle with one age of the tool has a level but no slope of its own', () => {
    const samples = [...simulated(3, 5, 2, 0.001, 0.1), { hits: 100, value: 5.2, tool: 7 }];
    const line = lineOf(samples);
    expect(line.slopeHomogeneity?.degreesOfFreedom).toEqual([1, 6]);
    expect(line.cycles.at(-1)).toMatchObject({ tool: 7, samples: 1, meanHits: 100, lastHits: 100 });
    expect(lineOf(simulated(3, 5, 1, 0.001, 0.1)).slopeHomogeneity).toBeNull();
    const three = [
      { hits: 0, value: 1, tool: 0 },
      { hits: 1, value: 2, tool: 0 },
      { hits: 0, value: 1, tool: 1 },
      { hits: 1, value: 4, tool: 1 },
    ];
    // Separate slopes would leave no degree of freedom.
    expect(lineOf(three).slopeHomogeneity).toBeNull();
  });

  test('has no line where nothing is left to judge by', () => {
    const at = (hits: number, value: number, tool = 0) => ({ hits, value, tool });
    expect(wearLine([at(0, 1), at(1, 2)])).toMatchObject({ reason: 'too-few-values' });
    expect(wearLine([at(0, 1), at(1, 2), at(0, 3, 1)])).toMatchObject({
      reason: 'too-few-values',
      message: expect.stringMatching(/^3 samples of 2 cycles leave/),
    });
    expect(wearLine([at(5, 1), at(5, 2), at(5, 3)])).toMatchObject({
      reason: 'no-variation',
      message: expect.stringMatching(/more than one age/),
    });
    expect(wearLine([at(0, 0.1), at(1, 0.2), at(2, 0.3), at(3, 0.4)])).toMatchObject({
      reason: 'no-variation',
      message: expect.stringMatching(/gauge/),
    });
  });

  test('the edges of what can be judged', () => {
    const at = (hits: number, value: number, tool = 0) => ({ hits, value, tool });
    expect(wearLine([at(0, 1), at(1, 2)])).toEqual({
      available: false,
      reason: 'too-few-values',
      message: '2 samples of 1 cycle leave nothing to judge the scatter by. Measure more.',
    });
    // No residual at all, and one of rounding alone far from zero.
    expect(wearLine([at(0, 0), at(1, 0), at(2, 0)])).toMatchObject({
      available: false,
      reason: 'no-variation',
    });
    const far = [0, 1, 2, 3, 4].map((i) => at(i, 1e6 + 0.1 * i));
    expect(wearLine(far)).toMatchObject({ available: false, reason: 'no-variation' });
    // One degree of freedom is left beside the two separate slopes.
    const five = [at(0, 5), at(100, 5.3), at(200, 5.3), at(0, 5.1, 1), at(100, 5.2, 1)];
    expect(lineOf(five).slopeHomogeneity!.degreesOfFreedom).toEqual([1, 1]);
    // Each cycle exactly on a line of its own: the F ratio has no denominator.
    const own = [at(0, 0), at(1, 1), at(2, 2), at(0, 0, 1), at(1, 2, 1), at(2, 4, 1)];
    expect(lineOf(own)).toMatchObject({ slope: 1.5, slopeHomogeneity: null });
    // The largest magnitudes are still taken.
    expect(() => wearLine([at(1e140, 1e140), at(0, -1e140), at(1, 1)])).not.toThrow();
  });

  test.each<[string, WearSample, string]>([
    ['samples.1.hits', { hits: -1, value: 1, tool: 0 }, 'out-of-range'],
    ['samples.1.hits', { hits: 1e141, value: 1, tool: 0 }, 'out-of-range'],
    ['samples.1.hits', { hits: Number.NaN, value: 1, tool: 0 }, 'not-finite'],
    ['samples.1.value', { hits: 1, value: Infinity, tool: 0 }, 'not-finite'],
    ['samples.1.value', { hits: 1, value: -1e141, tool: 0 }, 'out-of-range'],
    ['samples.1.tool', { hits: 1, value: 1, tool: 0.5 }, 'not-an-integer'],
    ['samples.1.tool', { hits: 1, value: 1, tool: -1 }, 'out-of-range'],
  ])('names %s', (argument, bad, code) => {
    expect(() => wearLine([{ hits: 0, value: 1, tool: 0 }, bad])).toThrow(
      expect.objectContaining({ argument, code }),
    );
    expect(() => wearLine([])).toThrow(expect.objectContaining({ code: 'empty', argument: 'samples' }));
  });
});

describe('wearCrossing', () => {
  const rising = lineOf(simulated(2, 20, 2, 0.001, 0.05));

  test('the ends of both sets lie on the curves that define them', () => {
    const t = 2.026192463029; // t(0.975, 37), scipy.stats.t.ppf
    const { slope, residualStandardDeviation: s, withinSumOfSquares, degreesOfFreedom } = rising;
    expect(degreesOfFreedom).toBe(37);
    const crossing = wearCrossing(rising, { limit: 8 });
    const { intercept, meanHits, samples } = rising.cycles[1]!;
    for (const [set, one] of [
      [crossing.meanCrossing!, 0],
      [crossing.individualCrossing!, 1],
    ] as const)
      for (const x of [set.lower, set.upper]) {
        const margin = t * s * Math.sqrt(one + 1 / samples + (x - meanHits) ** 2 / withinSumOfSquares);
        expect(Math.abs(8 - intercept - slope * x) / margin).toBeCloseTo(1, 8);
      }
    expect(crossing.g).toBeCloseTo((t * s) ** 2 / (slope ** 2 * withinSumOfSquares), 10);
    expect(crossing.crossing).toBeCloseTo((8 - intercept) / slope, 8);
    expect(crossing.hitsRemaining).toBeCloseTo(crossing.crossing! - 2000, 8);
    expect(crossing).toMatchObject({ tool: 1, side: 'upper', outlook: 'ahead', confidence: 0.95 });
    expect(crossing.message).toBe(
      `The line meets the limit in about ${Math.floor(crossing.hitsRemaining!)} hits; plan the regrind before ${Math.floor(crossing.individualCrossing!.lower)} hits since the last one, from where on single values may pass the limit (95 % interval).`,
    );
  });

  test('is the same upside down', () => {
    const mirrored = lineOf(simulated(2, 20, 2, 0.001, 0.05).map((one) => ({ ...one, value: -one.value })));
    const down = wearCrossing(mirrored, { limit: -8 });
    const up = wearCrossing(rising, { limit: 8 });
    expect(down).toMatchObject({ side: 'lower', outlook: 'ahead', hitsRemaining: up.hitsRemaining });
    expect(down.individualCrossing!.lower).toBeCloseTo(up.individualCrossing!.lower, 6);
  });

  test('grows with the limit, and the sets with the confidence', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 7.2, max: 20, noNaN: true }),
        fc.double({ min: 0.01, max: 3, noNaN: true }),
        fc.double({ min: 0.5, max: 0.9, noNaN: true }),
        (limit, more, confidence) => {
          const near = wearCrossing(rising, { limit, confidence });
          const far = wearCrossing(rising, { limit: limit + more, confidence: 0.95 });
          const sure = wearCrossing(rising, { limit, confidence: 0.95 });
          expect(far.crossing!).toBeGreaterThan(near.crossing!);
          expect(far.meanCrossing!.lower).toBeGreaterThan(sure.meanCrossing!.lower);
          expect(sure.meanCrossing!.lower).toBeLessThan(near.meanCrossing!.lower);
          expect(sure.individualCrossing!.upper).toBeGreaterThan(near.individualCrossing!.upper);
          expect(sure.individualCrossing!.lower).toBeLessThan(sure.meanCrossing!.lower);
        },
      ),
      { numRuns: 50 },
    );
  });

  test('the set for the mean line covers the true crossing as often as it says', () => {
    let covered = 0;
    for (let seed = 1; seed <= 400; seed++) {
      const { meanCrossing } = wearCrossing(lineOf(simulated(seed + 0.5, 8, 2, 0.001, 0.1)), {
        limit: 6,
        confidence: 0.9,
      });
      if (meanCrossing !== null && meanCrossing.lower <= 1000 && 1000 <= meanCrossing.upper) covered++;
    }
    // 360 expected, standard deviation 6.
    expect(Math.abs(covered - 360)).toBeLessThan(24);
  });

  test('says by name why there is no crossing', () => {
    const flat = lineOf(simulated(4, 8, 1, 0, 0.1));
    const none = wearCrossing(flat, { limit: 6 });
    expect(none).toMatchObject({
      outlook: 'no-wear-shown',
      meanCrossing: null,
      individualCrossing: null,
      message: expect.stringMatching(/^No wear is shown/),
    });
    expect(none.g).toBeGreaterThan(1);
    expect(none.crossing).not.toBeNull();
    expect(wearCrossing(rising, { limit: 3 })).toMatchObject({
      side: 'lower',
      outlook: 'moves-away',
      message: expect.stringMatching(/leads away/),
    });
    expect(wearCrossing(rising, { limit: 6 })).toMatchObject({
      outlook: 'passed',
      message: expect.stringMatching(/authorised person/),
    });
    // A bad regrind: above the upper limit from the first hit on. Without the side it looks like a lower limit.
    expect(wearCrossing(rising, { limit: 4, side: 'upper' }).outlook).toBe('passed');
    expect(wearCrossing(rising, { limit: 4 }).outlook).toBe('moves-away');
    expect(wearCrossing(flat, { limit: 4, side: 'upper' }).outlook).toBe('passed');
    // The line is some 40 hits short of the limit, single values reach it now.
    expect(wearCrossing(rising, { limit: 7.04 }).message).toMatch(
      /tighten sampling and plan the regrind now/,
    );
  });

  test('a line exactly at the limit has passed it, on either side', () => {
    const [first, last] = rising.cycles;
    const exact: WearLine = {
      ...rising,
      slope: 0.5,
      cycles: [first!, { ...last!, intercept: 4, lastHits: 8, meanHits: 4, meanValue: 6 }],
    };
    expect(wearCrossing(exact, { limit: 8, side: 'upper' })).toMatchObject({
      outlook: 'passed',
      hitsRemaining: 0,
    });
    expect(wearCrossing(exact, { limit: 8, side: 'lower' }).outlook).toBe('passed');
    // A fresh tool on the limit itself is no upper limit.
    expect(wearCrossing(exact, { limit: 4 }).side).toBe('lower');
  });

  test('plans the regrind now from the very hit at which single values may pass', () => {
    const earliest = Math.floor(wearCrossing(rising, { limit: 8 }).individualCrossing!.lower);
    const messageAt = (lastHits: number) =>
      wearCrossing(
        { ...rising, cycles: rising.cycles.map((cycle) => ({ ...cycle, lastHits })) },
        { limit: 8 },
      ).message;
    expect(messageAt(earliest)).toMatch(/plan the regrind now/);
    expect(messageAt(earliest - 1)).toMatch(/plan the regrind before/);
  });

  test('a level line has no crossing at all', () => {
    const level = { ...rising, slope: 0 };
    expect(wearCrossing(level, { limit: 8 })).toMatchObject({
      crossing: null,
      hitsRemaining: null,
      g: null,
      outlook: 'no-wear-shown',
    });
  });

  test.each([
    [{ limit: Number.NaN }, 'options.limit', 'not-finite'],
    [{ limit: 8, confidence: 1 }, 'options.confidence', 'out-of-range'],
    [{ limit: 8, side: 'left' as 'upper' }, 'options.side', 'unknown-name'],
    [{ limit: 1e308 }, 'options.limit', 'out-of-range'],
  ])('names the field of %j', (options, argument, code) => {
    expect(() => wearCrossing(rising, options)).toThrow(expect.objectContaining({ argument, code }));
    expect(() => wearCrossing({ ...rising, currentTool: 9 }, { limit: 8 })).toThrow(
      expect.objectContaining({ argument: 'line.currentTool', code: 'out-of-range' }),
    );
  });
});

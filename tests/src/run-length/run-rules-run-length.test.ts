import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  findSignals,
  type RunRuleName,
  type RunRuleSettings,
  runRuleNames,
  runRulesMultiple,
  runRulesRunLength,
  shewhartRunLength,
} from '../../../src/index.ts';
import { randomSource } from '../../../src/numerics/random.ts';
import { orderAutomaton } from '../../../src/run-length/order-automaton.ts';
import { orderedDensities, orderedStates, orderedWalk } from '../../../src/run-length/ordered-walk.ts';
import { ruleAutomaton } from '../../../src/run-length/rule-automaton.ts';
import { ruleZones, zoneProbabilities } from '../../../src/run-length/rule-zones.ts';
import { planRules } from '../../../src/run-rules/rule-words.ts';

const settings: fc.Arbitrary<RunRuleSettings> = fc.record({
  rules: fc.subarray([...runRuleNames], { minLength: 1 }),
  oneSideRunLength: fc.constantFrom(7 as const, 8 as const, 9 as const),
  outsideMustBeOnBothSides: fc.boolean(),
});
const [beyond, twoOfThree, fourOfFive, oneSide, trend, alternating, within, outside] = runRuleNames as [
  RunRuleName,
  RunRuleName,
  RunRuleName,
  RunRuleName,
  RunRuleName,
  RunRuleName,
  RunRuleName,
  RunRuleName,
];

function needed<T extends { readonly available: boolean }>(outcome: T): Extract<T, { available: true }> {
  if (!outcome.available) throw new Error(JSON.stringify(outcome));
  return outcome as Extract<T, { available: true }>;
}
const average = (rules: RunRuleSettings, shift = 0, standardDeviationRatio = 1) =>
  needed(runRulesRunLength(rules, { shift, standardDeviationRatio })).averageRunLength;

/** Stretches that make every rule fire now and then, without ties. */
const stretch = fc
  .tuple(
    fc.constantFrom('any', 'above', 'below', 'near', 'far', 'rising', 'falling', 'up and down'),
    fc.integer({ min: 3, max: 16 }),
    fc.integer(),
  )
  .map(([kind, length, seed]) => {
    const { uniform, normal } = randomSource(Math.abs(seed));
    return Array.from({ length }, (_, place) => {
      switch (kind) {
        case 'above':
          return 0.001 + Math.abs(normal());
        case 'below':
          return -0.001 - Math.abs(normal());
        case 'near':
          return 2 * uniform() - 1;
        case 'far':
          return (1 + 1.2 * uniform()) * (uniform() < 0.5 ? -1 : 1);
        case 'rising':
          return (place + uniform()) / 6 - 1.2;
        case 'falling':
          return 1.2 - (place + uniform()) / 6;
        case 'up and down':
          return (place % 2 ? 1 : -1) * uniform();
        default:
          return 1.4 * normal();
      }
    });
  });

describe('the states of the chain', () => {
  it('fire exactly when findSignals does, for every set of rules', () => {
    fc.assert(
      fc.property(settings, fc.array(stretch, { minLength: 2, maxLength: 5 }), (rules, stretches) => {
        const values = stretches.flat();
        const plan = planRules(rules, 'settings');
        const zones = ruleZones(plan, 3);
        const automaton = ruleAutomaton(plan, zones, true);
        const order = orderAutomaton(plan);
        let state = 0;
        let step = 0;
        let first: number | undefined;
        for (let index = 0; index < values.length && first === undefined; index++) {
          const zone = zones.findIndex(({ from, to }) => values[index]! > from && values[index]! < to);
          state = automaton.next[state * zones.length + zone]!;
          if (index > 0) step = (values[index]! > values[index - 1]! ? order.up : order.down)[step]!;
          if (state < 0 || step < 0) first = index;
        }
        expect(first).toBe(findSignals(values, rules)[0]?.index);
      }),
      { numRuns: 400 },
    );
  });

  it('are no more than the rules need', () => {
    const states = (...rules: RunRuleName[]) => {
      const plan = planRules({ rules }, 'settings');
      return ruleAutomaton(plan, ruleZones(plan, 3), false).states;
    };
    expect(states(beyond)).toBe(1);
    expect(states(oneSide)).toBe(17);
    expect(states(within)).toBe(15);
    expect(states(outside)).toBe(8);
    expect(states(beyond, twoOfThree, fourOfFive, oneSide)).toBeLessThan(400);
    expect(states(...runRuleNames)).toBeLessThan(800);
  });
});

/** Run lengths that findSignals itself gives on simulated values. */
function simulated(rules: RunRuleSettings, runs: number, shift: number, seed: number) {
  const { normal } = randomSource(seed);
  const guess = Math.ceil(2 * average(rules, shift)) + 20;
  const lengths = Array.from({ length: runs }, () => {
    const values: number[] = [];
    for (;;) {
      for (let more = 0; more < guess; more++) values.push(shift + normal());
      const signal = findSignals(values, rules)[0];
      if (signal !== undefined) return signal.index + 1;
    }
  });
  const mean = lengths.reduce((sum, length) => sum + length, 0) / runs;
  const spread = Math.sqrt(lengths.reduce((sum, length) => sum + (length - mean) ** 2, 0) / (runs - 1));
  return { lengths, mean, spread };
}

describe('run length of run rules', () => {
  it.each([
    [[beyond, twoOfThree, fourOfFive, oneSide], 0],
    [[beyond, twoOfThree, fourOfFive, oneSide], -1],
    [[...runRuleNames], 0],
    [[...runRuleNames], 0.7],
    [[beyond, trend, alternating], 1],
    [[within, oneSide], 0],
  ])('is what simulated values give with %j at a shift of %d', (rules, shift) => {
    const runs = 600;
    const exact = needed(runRulesRunLength({ rules }, { shift, probabilities: [0.2, 0.8] }));
    const { lengths, mean, spread } = simulated({ rules }, runs, shift, 17);
    expect(Math.abs(mean - exact.averageRunLength)).toBeLessThan((4 * spread) / Math.sqrt(runs));
    // The standard deviation of a spread of run lengths, whose tail is geometric, is about √(2/n) of it.
    expect(Math.abs(spread / exact.standardDeviation - 1)).toBeLessThan(4 * Math.sqrt(2 / runs));
    for (const { probability, samples } of exact.quantiles) {
      const share = (limit: number) => lengths.filter((length) => length <= limit).length / runs;
      const allowed = 4 * Math.sqrt((probability * (1 - probability)) / runs);
      expect(share(samples)).toBeGreaterThan(probability - allowed);
      expect(share(samples - 1)).toBeLessThan(probability + allowed);
    }
  });

  it('is geometric for limits alone', () => {
    for (const [multiple, shift, standardDeviationRatio] of [
      [3, 0, 1],
      [2.5, -1.3, 1],
      [3, 0.4, 1.7],
    ] as const) {
      const rules = needed(
        runRulesRunLength({ rules: [beyond], multiple }, { shift, standardDeviationRatio }),
      );
      const limits = needed(shewhartRunLength({ multiple }, { shift, standardDeviationRatio }));
      expect(rules.averageRunLength / limits.averageRunLength).toBeCloseTo(1, 12);
      expect(rules.standardDeviation / limits.standardDeviation).toBeCloseTo(1, 9);
      expect(rules.quantiles).toEqual(limits.quantiles);
    }
  });

  // Feller, An Introduction to Probability Theory and Its Applications, volume 1, XIII.7: for r successes in a row with
  // chance p the mean is (1 − pʳ) / ((1 − p) pʳ). Evaluated with mpmath in 30 digits, p = P(|Z + shift| < 1).
  it.each([
    [2, 1327935929658.214],
    [2.5, 4.789548854725808e17],
    [3, 4.616329181608286e24],
  ])('of fifteen within one standard deviation keeps its digits at a shift of %d', (shift, expected) => {
    expect(average({ rules: [within] }, shift) / expected).toBeCloseTo(1, 11);
  });

  it('of k on one side is 2ᵏ − 1 in control', () => {
    for (const oneSideRunLength of [7, 8, 9] as const)
      expect(average({ rules: [oneSide], oneSideRunLength })).toBeCloseTo(2 ** oneSideRunLength - 1, 7);
  });

  it('of trend and alternation does not depend on the distribution', () => {
    const steady = average({ rules: [trend, alternating] });
    expect(average({ rules: [trend, alternating] }, 1.4, 3) / steady).toBeCloseTo(1, 8);
  });

  it.each([false, true])(
    'finds trend and alternation with the chance that orderings have (mirror images as one: %s)',
    (symmetric) => {
      // 2 of 6! orderings; 2 · 199360981 of 14! (Euler zigzag number, OEIS A000111).
      const firstChance = (rule: RunRuleName, points: number) => {
        const plan = planRules({ rules: [rule] }, 'settings');
        const zones = ruleZones(plan, 3);
        const states = orderedStates(
          ruleAutomaton(plan, zones, true),
          orderAutomaton(plan),
          zones.length,
          symmetric,
        );
        const walk = orderedWalk(states, zoneProbabilities(zones, 0, 1), orderedDensities(states));
        const hazards = Array.from({ length: points }, walk);
        expect(hazards.slice(0, -1).every((hazard) => hazard === 0)).toBe(true);
        return hazards.at(-1)!;
      };
      expect(firstChance(trend, 6)).toBeCloseTo(2 / 720, 12);
      // Within the accuracy of six Legendre terms over thirteen steps.
      expect(firstChance(alternating, 14) / ((2 * 199360981) / 87178291200)).toBeCloseTo(1, 7);
    },
  );

  it('is the same with mirror images as one state, for every set of rules', () => {
    fc.assert(
      fc.property(settings, (rules) => {
        const plan = planRules({ ...rules, rules: [...rules.rules, trend] }, 'settings');
        const zones = ruleZones(plan, 2.8);
        const hazards = [false, true].map((symmetric) => {
          const automaton = ruleAutomaton(plan, zones, true);
          const states = orderedStates(automaton, orderAutomaton(plan), zones.length, symmetric);
          const walk = orderedWalk(states, zoneProbabilities(zones, 0, 1), orderedDensities(states));
          return Array.from({ length: 25 }, walk);
        });
        hazards[0]!.forEach((hazard, place) => {
          expect(Math.abs(hazards[1]![place]! - hazard)).toBeLessThan(1e-13);
        });
      }),
      { numRuns: 30 },
    );
  });

  it('is the same for shifts up and down, and shorter for a larger one', () => {
    fc.assert(
      fc.property(settings, fc.constantFrom(0.3, 1.2), (rules, shift) => {
        const without = {
          ...rules,
          rules: rules.rules.filter((rule) => rule !== within && rule !== alternating),
        };
        if (without.rules.length === 0 || without.outsideMustBeOnBothSides) return;
        const up = average(without, shift);
        expect(average(without, -shift) / up).toBeCloseTo(1, 7);
        if (without.rules.every((rule) => rule !== trend))
          expect(average(without, shift + 0.5)).toBeLessThan(up);
      }),
      { numRuns: 25 },
    );
  });

  it('never grows with another rule, and grows with the limits', () => {
    const all = [beyond, twoOfThree, fourOfFive, oneSide, within, outside];
    let before = Number.POSITIVE_INFINITY;
    for (let count = 1; count <= all.length; count++) {
      const now = average({ rules: all.slice(0, count) });
      expect(now).toBeLessThanOrEqual(before);
      before = now;
    }
    const at = (multiple: number) => needed(runRulesRunLength({ rules: all, multiple })).averageRunLength;
    expect(at(1.5)).toBeLessThan(at(2.5));
    expect(at(2.5)).toBeLessThan(at(3.5));
  });

  it('in steady state differs from zero state for rules with a memory only', () => {
    const options = { shift: 1, start: 'steady-state' } as const;
    const rules = [beyond, oneSide];
    expect(needed(runRulesRunLength({ rules }, options)).averageRunLength).toBeLessThan(
      average({ rules }, 1),
    );
    const plain = needed(runRulesRunLength({ rules: [beyond] }, options)).averageRunLength;
    expect(plain).toBeCloseTo(average({ rules: [beyond] }, 1), 9);
    // Nothing shifts: what has not signalled so far signals on as before.
    const ordered = needed(runRulesRunLength({ rules: [trend] }, { start: 'steady-state' }));
    // Six points are no longer needed first.
    expect(average({ rules: [trend] }) - ordered.averageRunLength).toBeGreaterThan(4);
    expect(average({ rules: [trend] }) - ordered.averageRunLength).toBeLessThan(6);
  });

  it('does not exist without a rule, or where nothing is ever seen', () => {
    expect(runRulesRunLength({ rules: [] })).toMatchObject({ available: false, reason: 'not-reachable' });
    expect(runRulesRunLength({ rules: [within] }, { shift: 20, standardDeviationRatio: 0.1 })).toMatchObject({
      available: false,
      reason: 'not-reachable',
    });
  });

  it.each([
    [{ rules: ['nothing' as RunRuleName] }, {}, 'unknown-name', 'settings.rules.0'],
    [{ rules: [beyond], multiple: 0 }, {}, 'out-of-range', 'settings.multiple'],
    [{ rules: [beyond], oneSideRunLength: 6 as 7 }, {}, 'out-of-range', 'settings.oneSideRunLength'],
    [{ rules: [beyond] }, { shift: 21 }, 'out-of-range', 'options.shift'],
    [{ rules: [beyond] }, { standardDeviationRatio: 0.05 }, 'out-of-range', 'options.standardDeviationRatio'],
    [{ rules: [beyond] }, { start: 'now' as 'zero-state' }, 'unknown-name', 'options.start'],
    [{ rules: [beyond] }, { probabilities: [0.5, 1] }, 'out-of-range', 'options.probabilities.1'],
    [{ rules: [beyond] }, { probabilities: Array(101).fill(0.5) }, 'out-of-range', 'options.probabilities'],
  ])('refuses %o with %o', (rules, options, code, argument) => {
    expect(() => runRulesRunLength(rules, options)).toThrow(expect.objectContaining({ code, argument }));
  });
});

describe('limits for a wanted run length', () => {
  it('of limits alone are quantiles of the normal distribution', () => {
    // scipy 1.17.1: norm.isf(1/1000), norm.isf(1/740).
    expect(needed(runRulesMultiple(500)).multiple).toBeCloseTo(3.090232306167813, 7);
    expect(needed(runRulesMultiple(370)).multiple).toBeCloseTo(2.99967223487627, 7);
  });

  it('give the run length that was wanted', () => {
    for (const [wanted, rules] of [
      [2, [beyond]],
      [1e7, [beyond]],
      [200, [beyond, twoOfThree]],
      [80, [beyond, twoOfThree, fourOfFive, oneSide]],
    ] as const) {
      const { multiple, averageRunLength } = needed(runRulesMultiple(wanted, { rules }));
      expect(averageRunLength / wanted).toBeCloseTo(1, 7);
      expect(needed(runRulesRunLength({ rules, multiple })).averageRunLength / wanted).toBeCloseTo(1, 7);
    }
  });

  it('do not exist where the other rules signal more often, or no limits are among them', () => {
    for (const rules of [[beyond, oneSide], [oneSide]])
      expect(runRulesMultiple(600, { rules })).toMatchObject({ available: false, reason: 'not-reachable' });
    expect(() => runRulesMultiple(1)).toThrow(expect.objectContaining({ argument: 'averageRunLength' }));
  });
});

import type { ControlLimits } from '../charts/control-chart.ts';
import { blockSize, fireRules, property, propertyCount, type RulePlan, ruleIndex } from './rule-words.ts';
import { type RunRuleSignal, runRuleNames } from './run-rule.ts';

// Scratch words, reused because the whole scan is synchronous.
const words = new Int32Array(propertyCount);
const fired = new Int32Array(runRuleNames.length);

/**
 * Signals of a series of plotted points, each against its own limits. A point without value or limits is missing.
 *
 * Values are compared with the lines of the chart rather than standardised first, so that a value typed exactly on
 * a line is exactly on it. Neighbours with different limits are compared by their standardised distance.
 *
 * @param from  signals are reported for points from this index on.
 */
export function findSignalsAtLimits(
  values: readonly (number | null)[],
  limits: readonly (ControlLimits | null)[],
  plan: RulePlan,
  from: number,
): RunRuleSignal[] {
  const signals: RunRuleSignal[] = [];
  if (plan.active === 0) return signals;
  words.fill(0);
  // Whole blocks before the first point asked for, less what the rules look back on, need no scan.
  const start = Math.max(0, from + 1 - plan.lookBack);
  for (let block = start; block < values.length; block += blockSize) {
    const end = Math.min(block + blockSize, values.length);
    for (let index = block; index < end; index++)
      markPoint(index, 1 << (blockSize + index - block), values, limits, start);
    const any = fireRules(words, plan, fired) >>> blockSize;
    for (let index = Math.max(block, from); index < end; index++) {
      const offset = index - block;
      if (((any >>> offset) & 1) === 0) continue;
      for (let rule = 0; rule < fired.length; rule++)
        if ((fired[rule]! >>> (blockSize + offset)) & 1)
          signals.push(describe(rule, index, blockSize + offset, plan));
    }
    for (let word = 0; word < propertyCount; word++) words[word]! >>>= blockSize;
  }
  return signals;
}

function markPoint(
  index: number,
  bit: number,
  values: readonly (number | null)[],
  limits: readonly (ControlLimits | null)[],
  start: number,
): void {
  const value = values[index] ?? null;
  const own = limits[index] ?? null;
  if (value === null || own === null) return;
  const { centerLine, standardDeviation, lowerControlLimit, upperControlLimit } = own;
  if (value > centerLine) {
    words[property.above]! |= bit;
    if (value > centerLine + standardDeviation) words[property.aboveOne]! |= bit;
    if (value > centerLine + 2 * standardDeviation) words[property.aboveTwo]! |= bit;
    if (upperControlLimit !== null && value > upperControlLimit) words[property.beyondUpper]! |= bit;
  } else if (value < centerLine) {
    words[property.below]! |= bit;
    if (value < centerLine - standardDeviation) words[property.belowOne]! |= bit;
    if (value < centerLine - 2 * standardDeviation) words[property.belowTwo]! |= bit;
    if (lowerControlLimit !== null && value < lowerControlLimit) words[property.beyondLower]! |= bit;
  }
  if (value < centerLine + standardDeviation && value > centerLine - standardDeviation)
    words[property.withinOne]! |= bit;

  if (index === start) return;
  const before = values[index - 1] ?? null;
  const beforeLimits = limits[index - 1] ?? null;
  if (before === null || beforeLimits === null) return;
  const sameLimits =
    own === beforeLimits ||
    (centerLine === beforeLimits.centerLine && standardDeviation === beforeLimits.standardDeviation);
  const here = sameLimits ? value : (value - centerLine) * beforeLimits.standardDeviation;
  const there = sameLimits ? before : (before - beforeLimits.centerLine) * standardDeviation;
  if (here > there) words[property.rising]! |= bit;
  else if (here < there) words[property.falling]! |= bit;
}

/** The signal of a rule that fired at bit `place` of the scratch words, which is point `index`. */
function describe(rule: number, index: number, place: number, plan: RulePlan): RunRuleSignal {
  const set = (which: keyof typeof property, back = 0) =>
    ((words[property[which]]! >>> (place - back)) & 1) === 1;
  const latest = (count: number, belongs: (back: number) => boolean = () => true) => {
    const points: number[] = [];
    for (let back = count - 1; back >= 0; back--) if (belongs(back)) points.push(index - back);
    return points;
  };
  const name = runRuleNames[rule]!;
  const side = set('above') ? 'above' : 'below';
  switch (rule) {
    case ruleIndex.beyond:
      return { rule: name, index, points: [index], side };
    case ruleIndex.twoOfThree: {
      const which = set('aboveTwo') ? 'aboveTwo' : 'belowTwo';
      return { rule: name, index, points: latest(3, (back) => set(which, back)), side };
    }
    case ruleIndex.fourOfFive: {
      const which = set('aboveOne') ? 'aboveOne' : 'belowOne';
      return { rule: name, index, points: latest(5, (back) => set(which, back)), side };
    }
    case ruleIndex.oneSide:
      return { rule: name, index, points: latest(plan.oneSideRunLength), side };
    case ruleIndex.trend:
      return { rule: name, index, points: latest(6), side: set('rising') ? 'above' : 'below' };
    case ruleIndex.outside: {
      const points = latest(8);
      const allAbove = points.every((_, back) => set('aboveOne', back));
      const allBelow = points.every((_, back) => set('belowOne', back));
      return { rule: name, index, points, side: allAbove ? 'above' : allBelow ? 'below' : 'both' };
    }
    default:
      return { rule: name, index, points: latest(rule === ruleIndex.within ? 15 : 14), side: 'both' };
  }
}

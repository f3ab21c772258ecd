import { StatisticsError } from '../errors.ts';
import { type RunRuleSettings, runRuleNames } from './run-rule.ts';

/**
 * The run rules, evaluated on many points at once: each property that the rules ask of a point is one 32-bit word,
 * one bit a point, newer points in higher bits. `word << 1` lays each point's predecessor on it, so "nine in a row"
 * is a handful of shifts for a whole block of points. A point that is missing has no property, so its bits are 0.
 *
 * A block is 16 new points in bits 16 … 31 over the 16 points before them; no rule looks back further than 15.
 */
export const property = {
  above: 0,
  below: 1,
  aboveOne: 2,
  belowOne: 3,
  aboveTwo: 4,
  belowTwo: 5,
  beyondUpper: 6,
  beyondLower: 7,
  withinOne: 8,
  rising: 9,
  falling: 10,
} as const;
export const propertyCount = 11;
export const blockSize = 16;

/** Run rules switched on, in a form that is quick to read. Bit r stands for runRuleNames[r]. */
export interface RulePlan {
  readonly active: number;
  readonly oneSideRunLength: number;
  readonly bothSides: boolean;
  /** Points that the active rules look back on, the newest included. */
  readonly lookBack: number;
}

/** Points that each rule looks back on, in the order of runRuleNames; the one-sided run has its own setting. */
const lookBacks = [1, 3, 5, 9, 6, 14, 15, 8] as const;

export const ruleIndex = {
  beyond: 0,
  twoOfThree: 1,
  fourOfFive: 2,
  oneSide: 3,
  trend: 4,
  alternating: 5,
  within: 6,
  outside: 7,
} as const;

export function planRules(settings: RunRuleSettings, argument: string): RulePlan {
  const oneSideRunLength = settings.oneSideRunLength ?? 9;
  if (oneSideRunLength !== 7 && oneSideRunLength !== 8 && oneSideRunLength !== 9)
    throw new StatisticsError(
      'out-of-range',
      `${argument}.oneSideRunLength`,
      oneSideRunLength,
      'It is 7, 8 or 9.',
    );
  let active = 0;
  let lookBack = 1;
  for (let place = 0; place < settings.rules.length; place++) {
    const name = settings.rules[place]!;
    const rule = runRuleNames.indexOf(name);
    if (rule < 0) throw new StatisticsError('unknown-name', `${argument}.rules.${place}`, name);
    active |= 1 << rule;
    lookBack = Math.max(lookBack, rule === ruleIndex.oneSide ? oneSideRunLength : lookBacks[rule]!);
  }
  return { active, oneSideRunLength, bothSides: settings.outsideMustBeOnBothSides ?? false, lookBack };
}

/** Bits whose `length` latest bits, their own included, are all set. */
function runsOf(word: number, length: number): number {
  let runs = word;
  let reached = 1;
  while (reached * 2 <= length) {
    runs &= runs << reached;
    reached *= 2;
  }
  return runs & (runs << (length - reached));
}

/** The latest point is beyond, and one more of the two before it. */
function twoOfThree(beyond: number): number {
  return beyond & ((beyond << 1) | (beyond << 2));
}

/** The latest point is beyond, and three more of the four before it. */
function fourOfFive(beyond: number): number {
  const a = beyond << 1;
  const b = beyond << 2;
  const c = beyond << 3;
  const d = beyond << 4;
  return beyond & ((a & b & (c | d)) | ((a | b) & c & d));
}

/**
 * Writes, for each rule, the word of points at which it fires, and returns the points at which any does.
 *
 * @param words  propertyCount words.
 * @param fired  receives one word a rule, in the order of runRuleNames; 0 for a rule that is off.
 */
export function fireRules(words: Int32Array, plan: RulePlan, fired: Int32Array): number {
  const { active } = plan;
  const above = words[property.above]!;
  const below = words[property.below]!;
  const aboveOne = words[property.aboveOne]!;
  const belowOne = words[property.belowOne]!;
  const rising = words[property.rising]!;
  const falling = words[property.falling]!;
  fired.fill(0);
  if (active & (1 << ruleIndex.beyond))
    fired[ruleIndex.beyond] = words[property.beyondUpper]! | words[property.beyondLower]!;
  if (active & (1 << ruleIndex.twoOfThree))
    fired[ruleIndex.twoOfThree] =
      twoOfThree(words[property.aboveTwo]!) | twoOfThree(words[property.belowTwo]!);
  if (active & (1 << ruleIndex.fourOfFive))
    fired[ruleIndex.fourOfFive] = fourOfFive(aboveOne) | fourOfFive(belowOne);
  if (active & (1 << ruleIndex.oneSide))
    fired[ruleIndex.oneSide] = runsOf(above, plan.oneSideRunLength) | runsOf(below, plan.oneSideRunLength);
  if (active & (1 << ruleIndex.trend)) fired[ruleIndex.trend] = runsOf(rising, 5) | runsOf(falling, 5);
  if (active & (1 << ruleIndex.alternating)) {
    const turning = (rising & (falling << 1)) | (falling & (rising << 1));
    fired[ruleIndex.alternating] = runsOf(turning, 12);
  }
  if (active & (1 << ruleIndex.within)) fired[ruleIndex.within] = runsOf(words[property.withinOne]!, 15);
  if (active & (1 << ruleIndex.outside)) {
    const outside = runsOf(aboveOne | belowOne, 8);
    fired[ruleIndex.outside] = plan.bothSides
      ? outside & ~(runsOf(aboveOne, 8) | runsOf(belowOne, 8))
      : outside;
  }
  let any = 0;
  for (let rule = 0; rule < fired.length; rule++) any |= fired[rule]!;
  return any;
}

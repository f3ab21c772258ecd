import type { ControlLimits } from '../charts/control-chart.ts';
import { blockSize, fireRules, property, propertyCount, type RulePlan } from './rule-words.ts';
import { runRuleNames } from './run-rule.ts';

const zones = 16;
const centerZone = zones / 2;
const low = 0xffff;

/**
 * Run rules on a long series of points that share their limits: which rules fire at each point, and nothing else.
 * The same rules and the same comparisons as findSignalsAtLimits, without an object a point.
 *
 * Each point is placed by one multiplication in a zone of one standard deviation. A point so near to a zone's edge
 * that rounding could decide, or far outside, is compared with the lines themselves.
 *
 * @param fired  receives one byte a point; bit r stands for runRuleNames[r].
 */
export function fireAtSharedLimits(
  values: Float64Array,
  limits: ControlLimits,
  plan: RulePlan,
  fired: Uint8Array,
): void {
  fired.fill(0);
  if (plan.active === 0) return;
  const { centerLine, standardDeviation } = limits;
  const upperOne = centerLine + standardDeviation;
  const lowerOne = centerLine - standardDeviation;
  const upperTwo = centerLine + 2 * standardDeviation;
  const lowerTwo = centerLine - 2 * standardDeviation;
  const upper = limits.upperControlLimit ?? Number.POSITIVE_INFINITY;
  const lower = limits.lowerControlLimit ?? Number.NEGATIVE_INFINITY;
  const perUnit = 1 / standardDeviation;
  // Distance from a zone's edge, in zones, within which the multiplication may err.
  const edge = 1e-9 + 16 * Number.EPSILON * (Math.abs(centerLine) * perUnit + zones);
  const middle = 0.5 - edge;

  // For a point in zone k: side of the center line and beyond one standard deviation; above in the low half, below
  // in the high half of the word.
  const sideOf = new Int32Array(zones);
  const oneOf = new Int32Array(zones);
  for (let zone = 0; zone < zones; zone++) {
    sideOf[zone] = zone >= centerZone ? 1 : 1 << 16;
    oneOf[zone] = zone >= centerZone + 1 ? 1 : zone < centerZone - 1 ? 1 << 16 : 0;
  }

  const words = new Int32Array(propertyCount);
  const rules = new Int32Array(runRuleNames.length);
  let previous = values[0] ?? 0;
  for (let block = 0; block < values.length; block += blockSize) {
    const count = Math.min(blockSize, values.length - block);
    let side = 0;
    let one = 0;
    let two = 0;
    let beyond = 0;
    let onLine = 0;
    let direction = 0;
    for (let offset = 0; offset < count; offset++) {
      const value = values[block + offset]!;
      const place = (value - centerLine) * perUnit + centerZone;
      const zone = place | 0;
      if (place > 0 && place < zones && Math.abs(place - zone - 0.5) < middle) {
        side |= sideOf[zone]! << offset;
        one |= oneOf[zone]! << offset;
      } else {
        side |= (Number(value > centerLine) | (Number(value < centerLine) << 16)) << offset;
        one |= (Number(value > upperOne) | (Number(value < lowerOne) << 16)) << offset;
        onLine |= (Number(value === upperOne) | Number(value === lowerOne)) << offset;
      }
      if (value > upperTwo) {
        two |= 1 << offset;
        if (value > upper) beyond |= 1 << offset;
      } else if (value < lowerTwo) {
        two |= (1 << 16) << offset;
        if (value < lower) beyond |= (1 << 16) << offset;
      }
      direction |= (Number(value > previous) | (Number(value < previous) << 16)) << offset;
      previous = value;
    }
    const present = low >>> (blockSize - count);
    append(words, property.above, side);
    append(words, property.below, side >>> 16);
    append(words, property.aboveOne, one);
    append(words, property.belowOne, one >>> 16);
    append(words, property.aboveTwo, two);
    append(words, property.belowTwo, two >>> 16);
    append(words, property.beyondUpper, beyond);
    append(words, property.beyondLower, beyond >>> 16);
    append(words, property.withinOne, present & ~(one | (one >>> 16) | onLine));
    append(words, property.rising, direction);
    append(words, property.falling, direction >>> 16);
    let any = fireRules(words, plan, rules) >>> blockSize;
    while (any !== 0) {
      const offset = 31 - Math.clz32(any & -any);
      any &= any - 1;
      let mask = 0;
      for (let rule = 0; rule < rules.length; rule++)
        mask |= ((rules[rule]! >>> (blockSize + offset)) & 1) << rule;
      fired[block + offset] = mask;
    }
  }
}

/** Makes the latest block the history and lays the new points above it. */
function append(words: Int32Array, which: number, points: number): void {
  words[which] = (words[which]! >>> blockSize) | (points << blockSize);
}

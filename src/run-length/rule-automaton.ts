import { type RulePlan, ruleIndex } from '../run-rules/rule-words.ts';
import { isActive, type RuleZone } from './rule-zones.ts';

/** What the chosen rules remember of the zones of the points before, as states. State 0 has seen no point. */
export interface RuleAutomaton {
  readonly states: number;
  /** State after a point in a zone, at state · zones + zone; −1 where a rule fires. */
  readonly next: Int32Array;
  /** Zone of the newest point; −1 for state 0. Only told apart where the order of values matters. */
  readonly zoneOf: Int32Array;
}

/** Points that each rule counts, less the newest. */
const withinMemory = 14;
const outsideMemory = 7;

/** History that still can matter, as small whole numbers. */
interface Memory {
  /** Last two points beyond two standard deviations, last four beyond one, one bit a point, newest lowest. */
  readonly twoAbove: number;
  readonly twoBelow: number;
  readonly oneAbove: number;
  readonly oneBelow: number;
  /** Points in a row on one side: positive above, negative below. */
  readonly run: number;
  readonly within: number;
  readonly outside: number;
  /** Points in a row beyond one standard deviation on the same side, signed: when all eight are, it is no mixture. */
  readonly sameSide: number;
}

const nothing: Memory = {
  twoAbove: 0,
  twoBelow: 0,
  oneAbove: 0,
  oneBelow: 0,
  run: 0,
  within: 0,
  outside: 0,
  sameSide: 0,
};

/**
 * Every history of zones that the chosen rules tell apart, reached from an empty chart (Champ and Woodall,
 * Technometrics 29(4), 1987).
 *
 * @param newestZone  also tell states apart by the zone of the newest point.
 */
export function ruleAutomaton(
  plan: RulePlan,
  zones: readonly RuleZone[],
  newestZone: boolean,
): RuleAutomaton {
  const known = new Map<number, number>([[keyOf(nothing, newestZone ? zones.length : 0), 0]]);
  const memories = [nothing];
  const zoneOf = [newestZone ? -1 : 0];
  const next: number[] = [];
  for (let state = 0; state < memories.length; state++)
    for (let zone = 0; zone < zones.length; zone++) {
      const memory = after(memories[state]!, zones[zone]!, plan);
      if (memory === null) {
        next.push(-1);
        continue;
      }
      const key = keyOf(memory, newestZone ? zone : 0);
      let place = known.get(key);
      if (place === undefined) {
        place = memories.length;
        known.set(key, place);
        memories.push(memory);
        zoneOf.push(newestZone ? zone : 0);
      }
      next.push(place);
    }
  return { states: memories.length, next: Int32Array.from(next), zoneOf: Int32Array.from(zoneOf) };
}

function keyOf(memory: Memory, zone: number): number {
  let key = zone;
  key = key * 4 + memory.twoAbove;
  key = key * 4 + memory.twoBelow;
  key = key * 16 + memory.oneAbove;
  key = key * 16 + memory.oneBelow;
  key = key * 32 + memory.run + 16;
  key = key * 16 + memory.within;
  key = key * 8 + memory.outside;
  return key * 16 + memory.sameSide + 8;
}

/** What is remembered after one more point; null where a rule fires at it. */
function after(memory: Memory, zone: RuleZone, plan: RulePlan): Memory | null {
  if (zone.signals) return null;
  let { twoAbove, twoBelow, oneAbove, oneBelow, run, within, outside, sameSide } = memory;
  if (isActive(plan, 'twoOfThree')) {
    if ((zone.beyondTwo > 0 && twoAbove !== 0) || (zone.beyondTwo < 0 && twoBelow !== 0)) return null;
    twoAbove = ((twoAbove << 1) | Number(zone.beyondTwo > 0)) & 3;
    twoBelow = ((twoBelow << 1) | Number(zone.beyondTwo < 0)) & 3;
  }
  if (isActive(plan, 'fourOfFive')) {
    if (zone.beyondOne > 0 && bits(oneAbove) >= 3) return null;
    if (zone.beyondOne < 0 && bits(oneBelow) >= 3) return null;
    oneAbove = useful(((oneAbove << 1) | Number(zone.beyondOne > 0)) & 15);
    oneBelow = useful(((oneBelow << 1) | Number(zone.beyondOne < 0)) & 15);
  }
  if (isActive(plan, 'oneSide')) {
    run = Math.sign(run) === zone.side ? run + zone.side : zone.side;
    if (Math.abs(run) >= plan.oneSideRunLength) return null;
  }
  if (isActive(plan, 'within')) {
    within = zone.beyondOne === 0 ? within + 1 : 0;
    if (within > withinMemory) return null;
  }
  if (isActive(plan, 'outside')) {
    outside = zone.beyondOne === 0 ? 0 : outside + 1;
    if (plan.bothSides) {
      if (zone.beyondOne === 0) sameSide = 0;
      else sameSide = Math.sign(sameSide) === zone.beyondOne ? sameSide + zone.beyondOne : zone.beyondOne;
      const mixed = Math.abs(sameSide) <= outsideMemory;
      if (outside > outsideMemory && mixed) return null;
      if (!mixed) sameSide = Math.sign(sameSide) * outsideMemory;
      outside = Math.min(outside, outsideMemory);
    } else if (outside > outsideMemory) return null;
  }
  return { twoAbove, twoBelow, oneAbove, oneBelow, run, within, outside, sameSide };
}

function bits(word: number): number {
  return (word & 1) + ((word >> 1) & 1) + ((word >> 2) & 1) + ((word >> 3) & 1);
}

/**
 * The last four points less those that can no longer help to make four of five: a point of place b (0 the newest)
 * helps if some number of points beyond, all to come while it is in the window, fires with it and not without.
 */
function useful(word: number): number {
  let kept = word;
  for (let place = 3; place >= 0; place--) {
    if (((kept >> place) & 1) === 0) continue;
    let helps = false;
    for (let more = 1; more <= 4 - place; more++)
      if (bits(kept & ((1 << (5 - more)) - 1)) + more === 4) helps = true;
    if (!helps) kept &= ~(1 << place);
  }
  return kept;
}

/** The rules that compare a value with the one before, which zones cannot tell. */
export function comparesNeighbours(plan: RulePlan): boolean {
  return (plan.active & ((1 << ruleIndex.trend) | (1 << ruleIndex.alternating))) !== 0;
}

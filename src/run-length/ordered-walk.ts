import type { OrderAutomaton } from './order-automaton.ts';
import type { RuleAutomaton } from './rule-automaton.ts';
import type { Walk } from './run-length-of-walk.ts';

/** Legendre coefficients of each density: more of them change no figure by more than 1e-9. */
const exactTerms = 6;
/** So many are enough for three digits, in half the time. */
export const roughTerms = 3;

/** The states that rules on zones and rules on order reach together, and where each goes. */
export interface OrderedStates {
  readonly count: number;
  readonly zones: number;
  /** Zone of the newest point of each state. */
  readonly zoneOf: Int32Array;
  /** State after a point in another zone, at state · zones + zone; −1 where a rule fires. */
  readonly elsewhere: Int32Array;
  /** State after a higher (lower) point in the same zone; −1 where a rule fires. */
  readonly higher: Int32Array;
  readonly lower: Int32Array;
  /** 1 where that state stands for its mirror image, so that its density is turned round; 0 elsewhere. */
  readonly higherTurned: Int8Array;
  readonly lowerTurned: Int8Array;
  /** State after a first point in each zone. */
  readonly first: Int32Array;
}

/**
 * All states that are reached.
 *
 * @param symmetric  the process is as likely to stand so far above as below: then a state and its mirror image are one,
 *                   which halves the work.
 */
export function orderedStates(
  automaton: RuleAutomaton,
  order: OrderAutomaton,
  zones: number,
  symmetric: boolean,
): OrderedStates {
  const places = new Int32Array(automaton.states * order.states).fill(-1);
  const reached: number[] = [];
  const mirror = symmetric ? mirrorOf(automaton, order, zones) : null;
  const keyOf = (state: number, step: number): number => state * order.states + step;
  const isTurned = (state: number, step: number): boolean =>
    mirror !== null &&
    state >= 0 &&
    step >= 0 &&
    keyOf(mirror.states[state]!, mirror.steps[step]!) < keyOf(state, step);
  const placeOf = (state: number, step: number): number => {
    if (state < 0 || step < 0) return -1;
    const key = isTurned(state, step)
      ? keyOf(mirror!.states[state]!, mirror!.steps[step]!)
      : keyOf(state, step);
    if (places[key]! < 0) {
      places[key] = reached.length;
      reached.push(key);
    }
    return places[key]!;
  };
  const first = Int32Array.from({ length: zones }, (_, zone) => placeOf(automaton.next[zone]!, 0));
  const most = automaton.states * order.states;
  const zoneOf = new Int32Array(most);
  const elsewhere = new Int32Array(most * zones).fill(-1);
  const higher = new Int32Array(most);
  const lower = new Int32Array(most);
  const higherTurned = new Int8Array(most);
  const lowerTurned = new Int8Array(most);
  for (let place = 0; place < reached.length; place++) {
    const state = Math.floor(reached[place]! / order.states);
    const step = reached[place]! % order.states;
    const own = automaton.zoneOf[state]!;
    const up = order.up[step]!;
    const down = order.down[step]!;
    zoneOf[place] = own;
    for (let zone = 0; zone < zones; zone++) {
      const to = automaton.next[state * zones + zone]!;
      if (zone !== own) elsewhere[place * zones + zone] = placeOf(to, zone > own ? up : down);
      else {
        higher[place] = placeOf(to, up);
        lower[place] = placeOf(to, down);
        higherTurned[place] = Number(isTurned(to, up));
        lowerTurned[place] = Number(isTurned(to, down));
      }
    }
  }
  const count = reached.length;
  return { count, zones, zoneOf, elsewhere, higher, lower, higherTurned, lowerTurned, first };
}

/** The state of each with up and down exchanged, followed from the empty chart. */
function mirrorOf(automaton: RuleAutomaton, order: OrderAutomaton, zones: number) {
  const states = new Int32Array(automaton.states);
  for (let state = 0; state < automaton.states; state++)
    for (let zone = 0; zone < zones; zone++) {
      const to = automaton.next[state * zones + zone]!;
      if (to >= 0) states[to] = automaton.next[states[state]! * zones + zones - 1 - zone]!;
    }
  const steps = new Int32Array(order.states);
  for (let step = 0; step < order.states; step++) {
    const up = order.up[step]!;
    const down = order.down[step]!;
    if (up >= 0) steps[up] = order.down[steps[step]!]!;
    if (down >= 0) steps[down] = order.up[steps[step]!]!;
  }
  return { states, steps };
}

/** Room for the densities of orderedWalk: all zero before the first point. */
export function orderedDensities({ count }: OrderedStates, terms = exactTerms): Float64Array {
  return new Float64Array(count * terms);
}

/**
 * Walks a chart with run rules that also compare a value with the one before. How likely the next value is higher
 * depends on how high the last one is, so each state carries the density of the last value inside its zone, by rank
 * within the zone, u from 0 to 1. By rank it does not matter which distribution the values have: a higher point is the
 * integral of the density from 0 to u, a lower one that from u to 1, and a point from another zone is flat.
 *
 * Densities are sums of Legendre polynomials, in which integration takes one line: ∫ Pₖ = (Pₖ₊₁ − Pₖ₋₁) / (4k + 2).
 * Source: Abramowitz and Stegun, Handbook of Mathematical Functions, 22.7.10 and 22.8.5.
 *
 * @param densities  coefficients at state · terms, the first one the state's mass; holds the present ones, as many a
 *                   state as it was made for.
 */
export function orderedWalk(
  states: OrderedStates,
  probabilities: Float64Array,
  densities: Float64Array,
): Walk {
  const { count, zones, zoneOf, elsewhere, higher, lower, higherTurned, lowerTurned, first } = states;
  const terms = densities.length / count;
  // ∫ Pₖ reaches the terms above and below.
  const toNext = Float64Array.from({ length: terms }, (_, term) => 1 / (4 * term - 2));
  const toLast = Float64Array.from({ length: terms }, (_, term) => 1 / (4 * term + 6));
  const last = terms - 1;
  const following = new Float64Array(densities.length);
  const below = new Float64Array(terms);
  let started = densities.some((coefficient) => coefficient !== 0);

  const begin = (): number => {
    let signalling = 0;
    for (let zone = 0; zone < zones; zone++) {
      const to = first[zone]!;
      if (to < 0) signalling += probabilities[zone]!;
      else following[to * terms] = following[to * terms]! + probabilities[zone]!;
    }
    return signalling;
  };

  /** Adds what lies below; turned round, every second polynomial changes its sign. */
  const add = (factor: number, to: number, turned: boolean): void => {
    const odd = turned ? -factor : factor;
    for (let term = 0; term < terms; term += 2)
      following[to + term] = following[to + term]! + factor * below[term]!;
    for (let term = 1; term < terms; term += 2)
      following[to + term] = following[to + term]! + odd * below[term]!;
  };

  const proceed = (): number => {
    let signalling = 0;
    for (let state = 0; state < count; state++) {
      const base = state * terms;
      const mass = densities[base]!;
      if (mass === 0) continue;
      const own = zoneOf[state]!;
      const row = state * zones;
      for (let zone = 0; zone < zones; zone++) {
        if (zone === own) continue;
        const to = elsewhere[row + zone]!;
        const moved = mass * probabilities[zone]!;
        if (to < 0) signalling += moved;
        else following[to * terms] = following[to * terms]! + moved;
      }
      const chance = probabilities[own]!;
      const up = higher[state]!;
      const down = lower[state]!;
      below[0] = (mass - densities[base + 1]! / 3) / 2;
      for (let term = 1; term < last; term++)
        below[term] =
          densities[base + term - 1]! * toNext[term]! - densities[base + term + 1]! * toLast[term]!;
      below[last] = densities[base + last - 1]! * toNext[last]!;
      if (up < 0) signalling += chance * below[0];
      else add(chance, up * terms, higherTurned[state] === 1);
      if (down < 0) signalling += chance * (mass - below[0]);
      else {
        following[down * terms] = following[down * terms]! + chance * mass;
        add(-chance, down * terms, lowerTurned[state] === 1);
      }
    }
    return signalling;
  };

  return () => {
    following.fill(0);
    const hazard = started ? proceed() : begin();
    started = true;
    let total = 0;
    for (let state = 0; state < count; state++) total += following[state * terms]!;
    if (total === 0) return 1;
    for (let place = 0; place < following.length; place++) densities[place] = following[place]! / total;
    return hazard;
  };
}

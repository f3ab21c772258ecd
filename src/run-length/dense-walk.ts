import type { Walk } from './run-length-of-walk.ts';

/**
 * A chart whose state is one number, on the nodes of a quadrature rule (and on the point where it is held, if there is
 * one). Masses of a density times weight, so that the integral equation becomes a chain.
 */
export interface DenseChain {
  readonly size: number;
  /** Mass that goes to node `to` from node `from`, at to · size + from. */
  readonly transition: Float64Array;
  /** Probability to signal from each node, exact. */
  readonly exit: Float64Array;
}

/** Where a walk begins: the first sample's chance of a signal, and the masses after it. */
export interface FirstSample {
  readonly exit: number;
  readonly masses: Float64Array;
}

/**
 * Walks the chain. What is left after each sample is scaled to 1, so that the share that signals keeps its digits
 * however rare it is.
 *
 * @param masses  scratch that holds the present masses, scaled to 1; a walk begun without `first` starts from them.
 */
export function denseWalk(chain: DenseChain, masses: Float64Array, first: FirstSample | null): Walk {
  const { size, transition, exit } = chain;
  const { first: firstFrom, end: endFrom } = bandOf(chain);
  const next = new Float64Array(size);
  let fresh = first;
  return () => {
    let hazard = 0;
    let total = 0;
    if (fresh !== null) {
      hazard = fresh.exit;
      masses.set(fresh.masses);
      for (let node = 0; node < size; node++) total += masses[node]!;
      fresh = null;
    } else {
      for (let node = 0; node < size; node++) hazard += exit[node]! * masses[node]!;
      for (let to = 0; to < size; to++) {
        const row = to * size;
        let sum = 0;
        const end = endFrom[to]!;
        for (let from = firstFrom[to]!; from < end; from++) sum += transition[row + from]! * masses[from]!;
        next[to] = sum;
        total += sum;
      }
      masses.set(next);
    }
    if (total === 0) return 1;
    for (let node = 0; node < size; node++) masses[node] = masses[node]! / total;
    return hazard;
  };
}

/** Nodes are in order, so those from which anything goes to a node lie side by side: from the first to before the end. */
function bandOf({ size, transition }: DenseChain) {
  const first = new Int32Array(size);
  const end = new Int32Array(size);
  for (let to = 0; to < size; to++) {
    const row = to * size;
    let from = 0;
    while (from < size && transition[row + from] === 0) from++;
    first[to] = from;
    let last = size;
    while (last > from && transition[row + last - 1] === 0) last--;
    end[to] = last;
  }
  return { first, end };
}

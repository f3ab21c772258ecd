import type { DenseChain, FirstSample } from './dense-walk.ts';

/**
 * Average run length of a chain, without walking it: elimination of one state after the other, adding positive numbers
 * only, so that rare signals keep their digits. Quick where a walk would be long.
 *
 * @param starts  first samples to begin from.
 * @returns       one average for each start; Infinity where a signal is beyond the range of numbers.
 *
 * Source: Grassmann, Taksar and Heyman, Operations Research 33(5), 1985.
 */
export function averagesOfChain(chain: DenseChain, starts: readonly FirstSample[]): number[] {
  const { size, transition } = chain;
  const exit = Float64Array.from(chain.exit);
  const moves = new Float64Array(size * size);
  for (let from = 0; from < size; from++)
    for (let to = 0; to < size; to++) moves[from * size + to] = transition[to * size + from]!;
  const steps = new Float64Array(size).fill(1);
  const leaves = new Float64Array(size);
  for (let last = size - 1; last >= 0; last--) {
    let sum = exit[last]!;
    for (let to = 0; to < last; to++) sum += moves[last * size + to]!;
    leaves[last] = sum;
    for (let from = 0; from < last; from++) {
      const factor = moves[from * size + last]! / sum;
      if (factor === 0) continue;
      for (let to = 0; to < last; to++)
        moves[from * size + to] = moves[from * size + to]! + factor * moves[last * size + to]!;
      exit[from] = exit[from]! + factor * exit[last]!;
      steps[from] = steps[from]! + factor * steps[last]!;
    }
  }
  const averages = new Float64Array(size);
  for (let state = 0; state < size; state++) {
    let sum = steps[state]!;
    for (let to = 0; to < state; to++) sum += moves[state * size + to]! * averages[to]!;
    averages[state] = sum / leaves[state]!;
  }
  return starts.map(({ masses }) => masses.reduce((sum, mass, state) => sum + mass * averages[state]!, 1));
}

export interface MidRanks {
  /** One for each value, in the order of the values; ties share the mean of their ranks. */
  readonly ranks: Float64Array;
  /** Σ(t³ − t) over the groups of t equal values. */
  readonly ties: number;
}

/** Ranks from 1, ties averaged. */
export function midRanks(values: readonly number[]): MidRanks {
  const order = Array.from(values, (_, index) => index).sort((a, b) => values[a]! - values[b]!);
  const ranks = new Float64Array(values.length);
  let ties = 0;
  for (let from = 0; from < order.length; ) {
    let to = from + 1;
    while (to < order.length && values[order[to]!] === values[order[from]!]) to++;
    for (let place = from; place < to; place++) ranks[order[place]!] = (from + 1 + to) / 2;
    ties += (to - from) ** 3 - (to - from);
    from = to;
  }
  return { ranks, ties };
}

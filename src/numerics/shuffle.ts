import type { RandomSource } from './random.ts';

/** Puts the values into a random order, every order equally likely (Fisher and Yates). */
export function shuffle(values: Float64Array, random: RandomSource): void {
  for (let last = values.length - 1; last > 0; last--) {
    const place = Math.floor(random.uniform() * (last + 1));
    const kept = values[last]!;
    values[last] = values[place]!;
    values[place] = kept;
  }
}

// A sample of the mutants, where all would take too long: MUTATION_SHARE=0.1 draws one in ten, each by itself, by its
// number and MUTATION_SEED. MUTATION_ONLY names a file of numbers instead, to try survivors again after new tests.
import { readFileSync } from 'node:fs';

const only =
  process.env.MUTATION_ONLY && new Set(readFileSync(process.env.MUTATION_ONLY, 'utf8').split(/\s+/));
export const share = Number(process.env.MUTATION_SHARE ?? 1);
const seed = Number(process.env.MUTATION_SEED ?? 1);

export function isDrawn(mutant) {
  return only ? only.has(String(mutant)) : uniform(Number(mutant) + 1) < share;
}

/** The finisher of MurmurHash3 (public domain): neighbouring numbers become unrelated ones. */
function uniform(number) {
  let h = Math.imul(number, 0x9e3779b1) ^ Math.imul(seed, 0x85ebca6b);
  h = Math.imul(h ^ (h >>> 16), 0x85ebca6b);
  h = Math.imul(h ^ (h >>> 13), 0xc2b2ae35);
  return ((h ^ (h >>> 16)) >>> 0) / 2 ** 32;
}

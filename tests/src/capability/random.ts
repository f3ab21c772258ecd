/** Seeded uniform and normal numbers for simulations in tests: the same on every machine. */
export function seededNormal(seed: number): () => number {
  let state = seed >>> 0;
  const uniform = () => {
    // A 32-bit mixing generator; its constants are those of the finaliser of MurmurHash3, which is public domain.
    state = (state + 0x9e3779b9) >>> 0;
    let mixed = state;
    mixed = Math.imul(mixed ^ (mixed >>> 16), 0x85ebca6b);
    mixed = Math.imul(mixed ^ (mixed >>> 13), 0xc2b2ae35);
    return ((mixed ^ (mixed >>> 16)) >>> 0) / 2 ** 32;
  };
  return () => Math.sqrt(-2 * Math.log(1 - uniform())) * Math.cos(2 * Math.PI * uniform());
}

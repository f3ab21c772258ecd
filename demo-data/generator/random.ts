/**
 * Random numbers as a pure function of a key: no state is shared between samples, so a change in one place
 * disturbs no draw anywhere else.
 *
 * Source: Philox4x32 with 10 rounds; Salmon, Moraes, Dror and Shaw, "Parallel random numbers: as easy as
 * 1, 2, 3", Proceedings of SC11 (2011). The key is the seed; the counter holds everything else.
 */

const MULTIPLIER_0 = 0xd2511f53;
const MULTIPLIER_1 = 0xcd9e8d57;
const WEYL_0 = 0x9e3779b9;
const WEYL_1 = 0xbb67ae85;
const ROUNDS = 10;

/** Upper 32 bits of the product of two 32-bit numbers, by halves of 16 bits. */
function highWord(a: number, b: number): number {
  const aLow = a & 0xffff;
  const aHigh = a >>> 16;
  const bLow = b & 0xffff;
  const bHigh = b >>> 16;
  // Each sum stays below 2^32, and so do the products of two halves.
  const middle = (Math.imul(aHigh, bLow) >>> 0) + (Math.imul(aLow, bLow) >>> 16);
  const carry = (Math.imul(aLow, bHigh) >>> 0) + (middle & 0xffff);
  return (Math.imul(aHigh, bHigh) + (middle >>> 16) + (carry >>> 16)) | 0;
}

/** Four random 32-bit words of a counter of four words and a key of two, written into `words`. */
export function philox(
  words: Uint32Array,
  counter: readonly [number, number, number, number],
  key: readonly [number, number],
): void {
  let [c0, c1, c2, c3] = counter;
  let [k0, k1] = key;
  for (let round = 0; round < ROUNDS; round++) {
    const high0 = highWord(MULTIPLIER_0, c0);
    const low0 = Math.imul(MULTIPLIER_0, c0);
    const high1 = highWord(MULTIPLIER_1, c2);
    const low1 = Math.imul(MULTIPLIER_1, c2);
    c0 = high1 ^ c1 ^ k0;
    c1 = low1;
    c2 = high0 ^ c3 ^ k1;
    c3 = low0;
    k0 = (k0 + WEYL_0) | 0;
    k1 = (k1 + WEYL_1) | 0;
  }
  words[0] = c0;
  words[1] = c1;
  words[2] = c2;
  words[3] = c3;
}

/** What a substream is drawn for. Kept apart, so that a new use never shifts an old one. */
const purposes = {
  readings: 0,
  lot: 1,
  entry: 2,
  gauge: 3,
  planted: 4,
  sampleId: 5,
  correctionId: 6,
  eventId: 7,
  entryId: 8,
  people: 9,
  statementId: 10,
  handoverId: 11,
  concessionId: 12,
} as const;

export interface SubstreamKey {
  readonly seed: number;
  readonly purpose: keyof typeof purposes;
  /** Number of the characteristic, 1 to 12; 0 where none is meant. */
  readonly characteristic: number;
  /** Number of the place: line, cell or die lane; 0 where none is meant. */
  readonly place: number;
  /** Index of the sample, lot or whatever the purpose counts. */
  readonly index: number;
}

/** Read before the next draw overwrites it. */
const words = new Uint32Array(4);

/** The draws of one key, in order. */
export class Substream {
  readonly #key: readonly [number, number];
  readonly #fixed: readonly [number, number, number];
  #block = 0;
  #spareUniform: number | null = null;
  #spareNormal: number | null = null;

  constructor(key: SubstreamKey) {
    this.#key = [key.seed >>> 0, Math.floor(key.seed / 2 ** 32) >>> 0];
    this.#fixed = [key.index >>> 0, ((key.characteristic << 8) | key.place) >>> 0, purposes[key.purpose]];
  }

  #draw(): void {
    const [index, stream, purpose] = this.#fixed;
    philox(words, [this.#block++, index, stream, purpose], this.#key);
  }

  /** Four words as 32 hexadecimal digits. */
  hexadecimal(): string {
    this.#draw();
    return Array.from(words, (word) => word.toString(16).padStart(8, '0')).join('');
  }

  /** Uniform on the open interval (0, 1), 52 bits. */
  uniform(): number {
    if (this.#spareUniform !== null) {
      const spare = this.#spareUniform;
      this.#spareUniform = null;
      return spare;
    }
    this.#draw();
    this.#spareUniform = openUniform(words[2]!, words[3]!);
    return openUniform(words[0]!, words[1]!);
  }

  /** Standard normal. Source: Box and Muller, Annals of Mathematical Statistics 29 (1958). */
  normal(): number {
    if (this.#spareNormal !== null) {
      const spare = this.#spareNormal;
      this.#spareNormal = null;
      return spare;
    }
    const radius = Math.sqrt(-2 * Math.log(this.uniform()));
    const angle = 2 * Math.PI * this.uniform();
    this.#spareNormal = radius * Math.sin(angle);
    return radius * Math.cos(angle);
  }

  /** Exponential with mean 1. */
  exponential(): number {
    return -Math.log(this.uniform());
  }

  /** Rayleigh with scale 1: the length of two independent standard normals. */
  rayleigh(): number {
    return Math.sqrt(2 * this.exponential());
  }

  weibull(shape: number, scale: number): number {
    return scale * this.exponential() ** (1 / shape);
  }

  /** Number of `trials` that happen, each with probability `p` < 1: inversion of the binomial distribution. */
  binomial(trials: number, p: number): number {
    const u = this.uniform();
    let probability = (1 - p) ** trials;
    let cumulative = probability;
    let count = 0;
    while (u > cumulative && count < trials) {
      probability *= ((trials - count) / (count + 1)) * (p / (1 - p));
      cumulative += probability;
      count++;
    }
    return count;
  }
}

const openUniform = (a: number, b: number): number => ((a >>> 6) * 2 ** 26 + (b >>> 6) + 0.5) / 2 ** 52;

/** An identifier (UUID, version 8: free of choice) that the key decides, so that loading twice gives the same. */
export function keyedUuid(key: SubstreamKey): string {
  const hex = new Substream(key).hexadecimal();
  const variant = ((Number.parseInt(hex[16]!, 16) & 0x3) | 0x8).toString(16);
  return `${hex.slice(0, 8)}-${hex.slice(8, 12)}-8${hex.slice(13, 16)}-${variant}${hex.slice(17, 20)}-${hex.slice(20)}`;
}

/** Arguments that a careless caller may send, and what a public function has to make of them. */
import fc from 'fast-check';
import { StatisticsError } from '../../../src/errors.ts';

/** Arguments for one function: hostile ones mixed with good ones, so that both paths are walked. */
type HostileArguments = fc.Arbitrary<readonly unknown[]>;

/** Every function of a topic by its public name. */
export type FuzzedFunctions = Readonly<Record<string, HostileArguments>>;

const nasty = [
  Number.NaN,
  Infinity,
  -Infinity,
  0,
  -0,
  1,
  -1,
  0.5,
  2,
  3,
  Number.MIN_VALUE,
  -Number.MIN_VALUE,
  Number.EPSILON,
  1e-300,
  1e300,
  -1e300,
  Number.MAX_VALUE,
  -Number.MAX_VALUE,
  Number.MAX_SAFE_INTEGER,
  1e9 + 0.5,
];

/** Any number at all: hostile, everyday, tiny, huge. */
export const anyNumber: fc.Arbitrary<number> = fc.oneof(
  fc.constantFrom(...nasty),
  fc.double(),
  fc.integer({ min: -20, max: 200 }),
  fc.double({ min: -10, max: 10, noNaN: true }),
);

/** A number that a calculation most often accepts. */
export const everydayNumber: fc.Arbitrary<number> = fc
  .integer({ min: -5000, max: 15000 })
  .map((n) => n / 1000);

/** A list: empty, one, two, constant, of mixed magnitudes, everyday, or with one hostile entry. */
export const anyNumbers: fc.Arbitrary<number[]> = fc.oneof(
  fc.constant([] as number[]),
  fc.array(anyNumber, { minLength: 1, maxLength: 2 }),
  fc
    .tuple(anyNumber, fc.integer({ min: 1, max: 30 }))
    .map(([value, count]) => Array<number>(count).fill(value)),
  fc.array(fc.constantFrom(1e-300, 1e300, 1, -1e150, 1e16, 1e16 + 2), { maxLength: 12 }),
  fc.array(everydayNumber, { minLength: 2, maxLength: 40 }),
  fc
    .tuple(fc.array(everydayNumber, { minLength: 2, maxLength: 20 }), anyNumber, fc.nat())
    .map(([values, bad, place]) => values.with(place % values.length, bad)),
  fc.array(anyNumber, { maxLength: 20 }),
);

/** A list that most often is a plausible sample. */
export const everydayNumbers: fc.Arbitrary<number[]> = fc.array(everydayNumber, {
  minLength: 2,
  maxLength: 40,
});

/** Counts: mostly whole and not negative. */
export const anyCounts: fc.Arbitrary<number[]> = fc.oneof(
  { weight: 3, arbitrary: fc.array(fc.nat({ max: 30 }), { maxLength: 30 }) },
  { weight: 1, arbitrary: anyNumbers },
);

/** `good` most of the time, `bad` otherwise: a call with several arguments then still gets past the first check. */
export const mostly = <T>(good: fc.Arbitrary<T>, bad: fc.Arbitrary<T>): fc.Arbitrary<T> =>
  fc.oneof({ weight: 6, arbitrary: good }, { weight: 1, arbitrary: bad });

/**
 * Calls the function and returns what is wrong with its answer, null where nothing is: it may throw a
 * StatisticsError that names a field and says what to do, or return data without NaN or infinity anywhere.
 */
export function complaint(call: () => unknown): string | null {
  const start = process.cpuUsage();
  try {
    const place = notFinite(call(), 'result');
    if (place !== null) return place;
  } catch (error) {
    if (!(error instanceof StatisticsError)) return `threw ${String(error)}`;
    if (error.argument === '') return 'the error names no field';
    if (error.message.length < error.argument.length + 12)
      return `the error says too little: ${error.message}`;
  }
  // The processor's time, not the clock's: others may be at work on the machine.
  const took = process.cpuUsage(start).user / 1000;
  return took > 4000 ? `took ${took} ms` : null;
}

function notFinite(value: unknown, path: string): string | null {
  if (typeof value === 'number') return Number.isFinite(value) ? null : `${path} is ${value}`;
  if (value === undefined || typeof value === 'function') return null;
  if (typeof value !== 'object' || value === null) return null;
  for (const [key, entry] of Object.entries(value)) {
    const found = notFinite(entry, `${path}.${key}`);
    if (found !== null) return found;
  }
  return null;
}

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

/** Written out here, so that a code that is lost or misspelt in a calculation is noticed. */
const codes = new Set([
  'empty',
  'too-few-values',
  'not-finite',
  'out-of-range',
  'not-an-integer',
  'sizes-differ',
  'limits-reversed',
  'no-limits',
  'target-outside',
  'unknown-name',
]);
const reasons = new Set([
  'too-few-values',
  'no-variation',
  'no-specification-limit',
  'one-sided-specification',
  'no-target',
  'no-maximum',
  'singular-covariance',
  'not-reachable',
  'outside-method',
]);

/**
 * Calls the function and returns what is wrong with its answer, null where nothing is: it may throw a
 * StatisticsError that names a field and says what to do, or return data without NaN, infinity or empty words anywhere.
 */
export function complaint(
  call: (...given: readonly unknown[]) => unknown,
  given: readonly unknown[],
): string | null {
  const start = process.cpuUsage();
  try {
    const place = flaw(call(...given), 'result', /"\s|\s"|""/.test(JSON.stringify(given)));
    if (place !== null) return place;
  } catch (error) {
    if (!(error instanceof StatisticsError)) return `threw ${String(error)}`;
    if (!codes.has(error.code)) return `the error has the unknown code '${error.code}'`;
    if (!/^[a-z]\w*(\.\w+)*$/i.test(error.argument)) return `'${error.argument}' is no path of a field`;
    if (!error.message.startsWith(`${error.argument}: `)) return `the message does not name the field`;
    const advice = error.message.slice(error.argument.length + 2);
    if (advice.length < 10 || !isSentence(advice)) return `the error says too little: ${error.message}`;
  }
  // The processor's time, not the clock's: others may be at work on the machine.
  const took = process.cpuUsage(start).user / 1000;
  return took > 4000 ? `took ${took} ms` : null;
}

/** Where the caller left a name empty, empty words are the caller's; samples without a part belong to the part ''. */
function flaw(value: unknown, path: string, unnamed: boolean): string | null {
  if (typeof value === 'number') return Number.isFinite(value) ? null : `${path} is ${value}`;
  if (typeof value === 'string')
    return value === '' && !unnamed && !path.endsWith('.part') ? `${path} is empty` : null;
  if (value === undefined || typeof value === 'function') return null;
  if (typeof value !== 'object' || value === null) return null;
  if ('available' in value && value.available === false) {
    const { reason, message } = value as unknown as { reason: string; message: string };
    if (!reasons.has(reason)) return `${path} is not available for the unknown reason '${reason}'`;
    if (message.length < 10) return `${path} does not say why: ${message}`;
  }
  if ('message' in value && !unnamed && !isSentence(String(value.message)))
    return `${path}.message: ${value.message}`;
  for (const [key, entry] of Object.entries(value)) {
    const found = flaw(entry, `${path}.${key}`, unnamed);
    if (found !== null) return found;
  }
  return null;
}

/** Words that end, into which no missing value has slipped and of which none is left out before a stop. */
function isSentence(words: string): boolean {
  return /^\S.*[.!?]$/s.test(words) && !/undefined|NaN|\bnull\b|Infinity|\[object|\s[.,;:]/.test(words);
}

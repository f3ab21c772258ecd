import { StatisticsError } from '../errors.ts';

export type QuestionKind =
  | 'digit-swap'
  | 'lost-decimal'
  | 'inch-for-millimetre'
  | 'other-model'
  | 'far-from-expected'
  | 'outside-natural-bound';

/** What a stream makes plausible for a single value. All in `unit`. */
export interface ValueExpectation {
  readonly mean: number;
  /**
   * Standard deviation of single values about the mean, ≥ 0. Where the means themselves move (coil to coil), this
   * includes it: see singleValueStandardDeviation.
   */
  readonly standardDeviation: number;
  /** A real part may lie this far from the mean; 15 standard deviations where not given. */
  readonly realWithin?: number;
  /** The nominals of the other part models that could lie among these. */
  readonly otherModels: readonly {
    readonly modelId: string;
    readonly name: string;
    readonly nominal: number;
  }[];
  readonly unit: string;
  /** Decimals that the gauge resolves. */
  readonly decimals: number;
  readonly lowerNaturalBound: number | null;
  readonly upperNaturalBound: number | null;
}

/** Something about a value that a person should look at. */
export interface ValueQuestion {
  readonly kind: QuestionKind;
  /** What was probably meant, rounded to the decimals of the gauge; null where that cannot be said. */
  readonly suggestion: number | null;
  /** The part model whose nominal fits, for 'other-model'. */
  readonly modelId: string | null;
  readonly sentence: string;
}

/**
 * A value farther from the mean than this many standard deviations is asked about. For normal values that is one
 * false question in 500 million; a process that has really moved is asked about only when it moved very far.
 */
const askBeyond = 6;
/** The nominal of another model must be this near to the value, in standard deviations. */
const nominalWithin = 4;
/**
 * What a typo was meant to be must be this near to the mean, by the skewed distance, which is the stricter one near
 * a bound: a burr of 0.165 among 0.046 is a bad part, not 0.0165 with a misplaced decimal mark.
 */
const plausibleWithin = 3;
/**
 * Nearer to the mean than so many standard deviations a real part may have the value, where the caller does not say
 * how near: a die that slipped, a wrong stop, a mixed coil. There a bad part that one tap turns into a good one costs
 * more than a typo measured again, so no typo is suggested.
 */
export const realWithinStandardDeviations = 15;
/**
 * Other slips are far more frequent than another unit, so that explains a value only where it brings it nearer to the
 * mean by more than so many standard deviations. It matters while little is known and much is plausible.
 */
const unitRarerBy = 2;
/** Exchanged digits explain many values by chance, so what they explain it with must be quite usual. */
const swapPlausibleWithin = 2;

/**
 * Checks one value, as it is typed, against what its stream makes plausible. It asks and suggests; it never
 * changes a value, and it never asks about a value within 5 standard deviations of the mean, unless that value
 * lies beyond a natural bound.
 *
 * Distance is in standard deviations of single values, at least one step of the gauge. Values near a natural bound
 * are skewed, so there a second distance is that of a gamma distribution with the same mean and standard deviation
 * (cube-root transformation). Asking takes the smaller of the two, so that skewness never makes it nag.
 *
 * Explanations are tried in this order: another model's nominal, because a mixed-up part travels on while a typo
 * harms only the record; then the typo whose corrected value comes closest to the mean, inch for millimetre only
 * where it does so by more than 2 standard deviations, and of equal ones the digit swap; then a value beyond a natural bound; then merely far.
 *
 * A typo is suggested only where no real part can have the value: beyond a natural bound, or farther from the mean
 * than `realWithin`. Digits are taken for exchanged only where they are neighbours, with the decimal
 * mark between them or not, and where the value meant lies within 2 standard deviations of the mean.
 *
 * @throws StatisticsError `not-finite` or `out-of-range`, naming the field.
 *
 * Source: house rule; cube-root transformation: Wilson and Hilferty, Proceedings of the National Academy of
 * Sciences 17 (1931) 684-688 (cited from memory).
 *
 * @example
 * questionValue(951.52, { mean: 955.04, standardDeviation: 0.18, otherModels: [], unit: 'mm', decimals: 2,
 *   lowerNaturalBound: null, upperNaturalBound: null });
 * // kind 'digit-swap', suggestion 955.12
 */
export function questionValue(value: number, expectation: ValueExpectation): ValueQuestion | null {
  check(value, expectation);
  const { unit, decimals, mean, otherModels } = expectation;
  const beyondBound = isBeyondBound(value, expectation);
  const distance = Math.min(linearDistance(value, expectation), skewedDistance(value, expectation));
  if (!beyondBound && distance <= askBeyond) return null;

  const shown = (number: number) =>
    `${number.toFixed(Math.max(decimals, 0))}${unit === '1' ? '' : ` ${unit}`}`;
  const typed = `${decimalText(value, decimals)}${unit === '1' ? '' : ` ${unit}`}`;
  const opening = `${typed} is far from the ${shown(mean)} expected here`;

  const scale = scaleOf(expectation);
  const nearest = Math.min(...otherModels.map(({ nominal }) => Math.abs(value - nominal)));
  const fitting = otherModels.filter(({ nominal }) => Math.abs(value - nominal) === nearest);
  const [model] = fitting;
  if (model && nearest <= nominalWithin * scale && nearest <= (distance * scale) / 2) {
    const names = fitting.map(({ name }) => name).join(' or ');
    return {
      kind: 'other-model',
      suggestion: null,
      modelId: model.modelId,
      sentence: `${opening}, but fits the ${shown(model.nominal)} of ${names}. Is this piece a ${names}?`,
    };
  }

  let best: { typo: Typo; rank: number } | null = null;
  const realWithin = expectation.realWithin ?? realWithinStandardDeviations * scaleOf(expectation);
  const mayBeReal = !beyondBound && Math.abs(value - mean) <= realWithin;
  for (const typo of mayBeReal ? [] : typos(value, expectation)) {
    if (isBeyondBound(typo.meant, expectation)) continue;
    const gap = Math.max(0, Math.abs(typo.meant - mean) - typo.uncertainty);
    const corrected = skewedDistance(mean + Math.sign(typo.meant - mean) * gap, expectation);
    const within = typo.kind === 'digit-swap' ? swapPlausibleWithin : plausibleWithin;
    const rank = typo.kind === 'inch-for-millimetre' ? corrected + unitRarerBy : corrected;
    if (corrected <= within && (best === null || rank < best.rank)) best = { typo, rank };
  }
  if (best !== null) {
    const { kind, meant, how } = best.typo;
    const suggestion = Number(meant.toFixed(decimals));
    return {
      kind,
      suggestion,
      modelId: null,
      sentence: `${opening}. ${how} it would be ${shown(suggestion)}. Did you mean ${shown(suggestion)}?`,
    };
  }

  if (beyondBound) {
    const { lowerNaturalBound } = expectation;
    const low = lowerNaturalBound !== null && value < lowerNaturalBound;
    const bound = low ? lowerNaturalBound : expectation.upperNaturalBound!;
    const withoutSign =
      !isBeyondBound(-value, expectation) && skewedDistance(-value, expectation) <= plausibleWithin;
    return {
      kind: 'outside-natural-bound',
      suggestion: withoutSign ? Number((-value).toFixed(decimals)) : null,
      modelId: null,
      sentence: `${typed} cannot be: the value is never ${low ? 'below' : 'above'} ${shown(bound)}. ${
        withoutSign ? `Did you mean ${shown(-value)}?` : 'Measure the same piece again.'
      }`,
    };
  }
  return {
    kind: 'far-from-expected',
    suggestion: null,
    modelId: null,
    sentence: `${opening}. Is it really ${typed}?`,
  };
}

interface Typo {
  readonly kind: 'digit-swap' | 'lost-decimal' | 'inch-for-millimetre';
  readonly meant: number;
  /** How far the value meant may lie from `meant`, because inches were typed rounded. */
  readonly uncertainty: number;
  readonly how: string;
}

function typos(value: number, expectation: ValueExpectation): Typo[] {
  const { unit, decimals } = expectation;
  const result: Typo[] = digitSwaps(decimalText(value, decimals)).map((meant) => ({
    kind: 'digit-swap',
    meant,
    uncertainty: 0,
    how: 'With two neighbouring digits swapped',
  }));
  for (const factor of [10, 100, 1000]) {
    const how = 'With the decimal mark in another place';
    result.push({ kind: 'lost-decimal', meant: value / factor, uncertainty: 0, how });
    result.push({ kind: 'lost-decimal', meant: value * factor, uncertainty: 0, how });
  }
  if (unit === 'mm' || unit === 'in') {
    const metric = unit === 'mm';
    // Half a step of the inches typed; capped, so that what is suggested stays plausible itself.
    const rounding = Math.min((10 ** -decimals / 2) * 25.4, 2 * scaleOf(expectation));
    result.push({
      kind: 'inch-for-millimetre',
      meant: metric ? value * 25.4 : value / 25.4,
      uncertainty: metric ? rounding : 0,
      how: metric ? 'Read as inches' : 'Read as millimetres',
    });
    result.push({
      kind: 'inch-for-millimetre',
      meant: metric ? value / 25.4 : value * 25.4,
      uncertainty: metric ? 0 : rounding,
      how: 'Converted between inch and millimetre once too often,',
    });
  }
  return result;
}

/** Every number that two exchanged neighbouring digits of `text` give; a decimal mark does not part neighbours. */
function digitSwaps(text: string): number[] {
  const digits = [...text].flatMap((character, index) => (/\d/.test(character) ? [index] : []));
  return digits.slice(1).flatMap((other, before) => {
    const one = digits[before]!;
    if (text[one] === text[other]) return [];
    const characters = [...text];
    characters[one] = text[other]!;
    characters[other] = text[one]!;
    return [Number(characters.join(''))];
  });
}

/** The value as a person would have typed it: the gauge's decimals, or more where it has more. */
function decimalText(value: number, decimals: number): string {
  const rounded = value.toFixed(decimals);
  return Number(rounded) === value || Math.abs(value) >= 1e15 || Math.abs(value) < 1e-6
    ? rounded
    : String(value);
}

const scaleOf = ({ standardDeviation, decimals }: ValueExpectation) =>
  Math.max(standardDeviation, 10 ** -decimals);

function isBeyondBound(value: number, { lowerNaturalBound, upperNaturalBound }: ValueExpectation): boolean {
  return (
    (lowerNaturalBound !== null && value < lowerNaturalBound) ||
    (upperNaturalBound !== null && value > upperNaturalBound)
  );
}

const linearDistance = (value: number, expectation: ValueExpectation) =>
  Math.abs(value - expectation.mean) / scaleOf(expectation);

/** Distance by the gamma distribution that starts at the nearer natural bound; the linear one where there is none. */
function skewedDistance(value: number, expectation: ValueExpectation): number {
  const { mean, lowerNaturalBound: lower, upperNaturalBound: upper } = expectation;
  const above = lower !== null && mean > lower ? mean - lower : Number.POSITIVE_INFINITY;
  const below = upper !== null && mean < upper ? upper - mean : Number.POSITIVE_INFINITY;
  const room = Math.min(above, below);
  if (room === Number.POSITIVE_INFINITY) return linearDistance(value, expectation);
  const fromBound = above <= below ? value - lower! : upper! - value;
  const variation = scaleOf(expectation) / room;
  return Math.abs((Math.cbrt(fromBound / room) - 1 + variation ** 2 / 9) * (3 / variation));
}

function check(value: number, expectation: ValueExpectation): void {
  const finite = (number: number, argument: string) => {
    if (!Number.isFinite(number)) throw new StatisticsError('not-finite', argument, number);
  };
  finite(value, 'value');
  finite(expectation.mean, 'expectation.mean');
  finite(expectation.standardDeviation, 'expectation.standardDeviation');
  if (expectation.realWithin !== undefined) finite(expectation.realWithin, 'expectation.realWithin');
  if (expectation.standardDeviation < 0)
    throw new StatisticsError(
      'out-of-range',
      'expectation.standardDeviation',
      expectation.standardDeviation,
      'A standard deviation must not be negative.',
    );
  if (!Number.isInteger(expectation.decimals) || expectation.decimals < 0 || expectation.decimals > 15)
    throw new StatisticsError(
      'out-of-range',
      'expectation.decimals',
      expectation.decimals,
      'Decimals must be a whole number from 0 to 15.',
    );
  expectation.otherModels.forEach((model, index) => {
    finite(model.nominal, `expectation.otherModels.${index}.nominal`);
  });
}

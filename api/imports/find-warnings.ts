import { expectationOf } from '../monitoring/expectation.ts';
import { measuredValues } from '../monitoring/measured-values.ts';
import type { StreamContext } from '../monitoring/stream-context.ts';
import type { CsvShape, ImportPreview, ImportWarning } from '../schemas.ts';
import { limitsInForceAt } from '../store/limits-in-force.ts';
import type { LimitsRow } from '../store/store.ts';
import { MAX_WARNINGS } from './import-bounds.ts';
import { mapInTurns } from './map-in-turns.ts';
import type { FileSample } from './read-samples.ts';
import { contentKey } from './sample-identity.ts';
import { shownText } from './shown-text.ts';

type Warnings = Pick<ImportPreview, 'warnings' | 'warningCount' | 'samplesWithWarnings'>;

type Found = Pick<ImportWarning, 'kind' | 'sentence'>;
const MAX_KNOWN_VALUES = 10_000;

interface Grounds {
  readonly context: StreamContext;
  /** All versions of the stream and part model. */
  readonly limitsVersions: readonly LimitsRow[];
  readonly decimalMark: CsvShape['decimalMark'];
}

/** Keeps the first warnings of each kind, so that many of one kind do not hide the others. */
function collectWarnings() {
  const byKind = new Map<ImportWarning['kind'], ImportWarning[]>();
  let count = 0;
  return {
    count: () => count,
    add(kind: ImportWarning['kind'], line: number, text: string, sentence: string): void {
      count += 1;
      const kept = byKind.get(kind) ?? [];
      byKind.set(kind, kept);
      if (kept.length < MAX_WARNINGS) kept.push({ kind, line, text: shownText(text), sentence });
    },
    /** At most so many that a preview carries, of every kind as many as there is room for, by line. */
    shown(): ImportWarning[] {
      const lists = [...byKind.values()];
      const fits = (share: number): boolean =>
        lists.reduce((sum, { length }) => sum + Math.min(length, share), 0) <= MAX_WARNINGS;
      let share = MAX_WARNINGS;
      while (!fits(share)) share -= 1;
      return lists.flatMap((list) => list.slice(0, share)).sort((a, b) => a.line - b.line);
    },
  };
}

/** Which sample of the file has the time of an earlier one, and whether all the rest is the same too. */
function watchTimes() {
  const firstAt = new Map<number, FileSample>();
  // Only of times that occur twice: the others need no look at their content.
  const lineOfContent = new Map<string, number>();
  return (sample: FileSample): string | null => {
    const first = firstAt.get(sample.takenAt);
    if (first === undefined) {
      firstAt.set(sample.takenAt, sample);
      return null;
    }
    const firstKey = contentKey(first);
    if (!lineOfContent.has(firstKey)) lineOfContent.set(firstKey, first.line);
    const key = contentKey(sample);
    const equalLine = lineOfContent.get(key);
    if (equalLine === undefined) {
      lineOfContent.set(key, sample.line);
      return `The sample of line ${first.line} has the same time.`;
    }
    const what = sample.values === null ? 'counts' : 'readings';
    return `The sample of line ${equalLine} has the same time and the same ${what}. Is it the same sample twice?`;
  };
}

/** The sentence about a value outside the specification. */
function outsideSentence(value: number, { specification, characteristic }: StreamContext): string {
  const { lowerSpecificationLimit: lower, upperSpecificationLimit: upper } = specification!;
  const below = lower !== null && value < lower;
  const unit = characteristic.unit === '1' ? '' : ` ${characteristic.unit}`;
  return below
    ? `${value}${unit} is below the lower specification limit of ${lower}${unit}.`
    : `${value}${unit} is above the upper specification limit of ${upper}${unit}.`;
}

/** What there is to say about a value, by the limits in force when it was measured. */
function watchValues(context: StreamContext, limitsVersions: readonly LimitsRow[]) {
  const versions = limitsVersions.map((limits) => ({
    ...limits,
    expectation: expectationOf(context, limits),
  }));
  const unlimited = { version: 0, expectation: expectationOf(context, null) };
  // A gauge shows few different values, and to explain an unlikely one takes long.
  const known = new Map<number, Found | null>();
  let knownFor: Pick<(typeof versions)[number], 'version' | 'expectation'> = unlimited;

  const look = (value: number): Found | null => {
    const { questions, outsideSpecification } = measuredValues(
      { readings: [{ value }] },
      context.specification,
      knownFor.expectation,
    );
    const outside = outsideSpecification.length > 0 ? outsideSentence(value, context) : null;
    const [question] = questions;
    // One warning a value: what the station would ask, and what the drawing says.
    if (question !== undefined) {
      return { kind: 'questioned', sentence: [question.sentence, outside ?? ''].join(' ').trim() };
    }
    return outside === null ? null : { kind: 'outside-specification', sentence: outside };
  };
  return (value: number, takenAt: number): Found | null => {
    const version = limitsInForceAt(versions, takenAt) ?? unlimited;
    if (version !== knownFor || known.size === MAX_KNOWN_VALUES) known.clear();
    knownFor = version;
    let found = known.get(value);
    if (found === undefined) {
      found = look(value);
      known.set(value, found);
    }
    return found;
  };
}

const localTime = (time: number, utcOffsetMinutes: number): string =>
  new Date(time + utcOffsetMinutes * 60_000)
    .toISOString()
    .replace('T', ' ')
    .replace(/(?::00)?\.000Z$|Z$/, '');

/**
 * What a person should see before the samples are stored: values that the station would ask about, values outside
 * the specification, samples of one time, and fewer readings than planned. `isFresh` tells which samples are not
 * stored yet; the others are only compared with.
 */
export async function findWarnings(
  samples: readonly FileSample[],
  isFresh: (sample: FileSample) => boolean,
  { context, limitsVersions, decimalMark }: Grounds,
): Promise<Warnings> {
  const { plan, plant } = context;
  const warnings = collectWarnings();
  const earlierOfSameTime = watchTimes();
  const lookAtValue = watchValues(context, limitsVersions);
  const written = (value: number | null): string =>
    value === null ? '–' : String(value).replace('.', decimalMark);

  const lookAtValues = ({ line, takenAt, values, valueLines }: FileSample): boolean => {
    let warned = false;
    values?.forEach((value, position) => {
      const found = value === null ? null : lookAtValue(value, takenAt);
      if (found === null) return;
      warned = true;
      warnings.add(found.kind, valueLines?.[position] ?? line, written(value), found.sentence);
    });
    return warned;
  };

  const planned = plan?.sampleSize ?? 0;
  const isShort = (sample: FileSample): boolean => sample.values !== null && sample.filled < planned;
  const readingsOf = ({ values }: FileSample): string => values!.map(written).join(' | ');
  const fresh = samples.filter(isFresh);
  // Where all are short, a column was probably left out: that is said once.
  const allShort = fresh.length > 1 && fresh.every(isShort);
  if (allShort) {
    const sizes = fresh.map(({ filled }) => filled);
    const [least, most] = sizes.reduce(([low, high], n) => [Math.min(low, n), Math.max(high, n)], [
      sizes[0]!,
      sizes[0]!,
    ] as [number, number]);
    const found =
      least === most ? (most === 1 ? '1 reading' : `${most} readings`) : `${least} to ${most} readings`;
    warnings.add(
      'fewer-readings',
      fresh[0]!.line,
      readingsOf(fresh[0]!),
      `${found} a sample, the plan asks for ${planned}. Is every column with readings chosen?`,
    );
  }

  let samplesWithWarnings = 0;
  await mapInTurns(samples, (sample) => {
    const sameTime = earlierOfSameTime(sample);
    if (!isFresh(sample)) return;
    let warned = lookAtValues(sample);
    if (sameTime !== null) {
      warned = true;
      warnings.add('same-time', sample.line, localTime(sample.takenAt, plant.utcOffsetMinutes), sameTime);
    }
    if (isShort(sample)) {
      warned = true;
      if (!allShort) {
        const has = sample.filled === 1 ? '1 reading' : `${sample.filled} readings`;
        const sentence = `This sample has ${has}, the plan asks for ${planned}.`;
        warnings.add('fewer-readings', sample.line, readingsOf(sample), sentence);
      }
    }
    if (warned) samplesWithWarnings += 1;
  });
  return { warnings: warnings.shown(), warningCount: warnings.count(), samplesWithWarnings };
}

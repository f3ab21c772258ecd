import { requireBetween, requirePositive, requireWhole } from '../checks.ts';
import { type Outcome, StatisticsError } from '../errors.ts';
import { normalUpperTail } from '../numerics/normal.ts';

/** Samples taken at a fixed interval for a chart of means. */
export interface SamplingScheme {
  /** Shift of the process mean in standard deviations of single parts, −20 … 20. */
  readonly shift: number;
  /** Parts in a sample, whole, 1 … 10 000. */
  readonly sampleSize: number;
  /** Hours between samples, above 0, at most 10⁴. */
  readonly intervalHours: number;
  /** Parts made in an hour, above 0, at most 10⁸. */
  readonly partsPerHour: number;
  /** Standard deviations of the mean between center line and control limit, 0.1 … 10. Default 3. */
  readonly multiple?: number;
  /** Hours from taking the sample to acting on it, 0 … 10⁴. Default 0. */
  readonly delayHours?: number;
  /** Numbers of samples for which the chance of detection is wanted, at most 100, whole, 1 … 10⁹. Default 1, 2, 3, 5, 10. */
  readonly withinSamples?: readonly number[];
}

export interface TimeToSignal {
  /** Chance that one sample after the shift signals. */
  readonly detectionProbability: number;
  /** Chance that one sample signals with nothing wrong. */
  readonly falseAlarmProbability: number;
  /** Samples to the signal after the shift, and to a false alarm without one. */
  readonly averageRunLength: number;
  readonly averageRunLengthInControl: number;
  readonly averageHoursToSignal: number;
  readonly standardDeviationOfHours: number;
  readonly hoursBetweenFalseAlarms: number;
  /** Parts made from the shift to the signal, on average. */
  readonly partsBetweenShiftAndSignal: number;
  readonly detectedWithin: readonly { readonly samples: number; readonly probability: number }[];
  /** One sentence for the person who decides how often to sample. */
  readonly message: string;
}

/**
 * How long a chart of means takes to see a shift, and how many parts are made meanwhile. The shift comes at any moment
 * between two samples with equal chance, so on average half an interval before the first sample that can see it:
 * time to signal = interval · (average run length − ½) + delay.
 *
 * @param scheme  shift, sample size, interval, rate, multiple, delay.
 * @returns       probabilities, samples, hours, parts. Unavailable `not-reachable` where a signal practically never comes.
 * @throws        StatisticsError `not-finite`, `out-of-range`, `not-an-integer`.
 *
 * Source: Montgomery, Introduction to Statistical Quality Control, section 6.2 (average time to signal); Duncan, Journal
 * of the American Statistical Association 51, 1956.
 *
 * @example
 * timeToSignal({ shift: 1, sampleSize: 5, intervalHours: 2, partsPerHour: 900 });
 * // available, detectionProbability 0.222…, averageHoursToSignal 7.990…, partsBetweenShiftAndSignal 7191.5…
 */
export function timeToSignal(scheme: SamplingScheme): Outcome<TimeToSignal> {
  const { shift, sampleSize, intervalHours, partsPerHour } = scheme;
  const { multiple = 3, delayHours = 0, withinSamples = [1, 2, 3, 5, 10] } = scheme;
  requireBetween(shift, -20, 20, 'scheme.shift');
  requireWhole(sampleSize, 1, 10_000, 'scheme.sampleSize');
  requirePositive(intervalHours, 'scheme.intervalHours');
  requireBetween(intervalHours, 0, 1e4, 'scheme.intervalHours');
  requirePositive(partsPerHour, 'scheme.partsPerHour');
  requireBetween(partsPerHour, 0, 1e8, 'scheme.partsPerHour');
  requireBetween(multiple, 0.1, 10, 'scheme.multiple');
  requireBetween(delayHours, 0, 1e4, 'scheme.delayHours');
  if (withinSamples.length > 100)
    throw new StatisticsError(
      'out-of-range',
      'scheme.withinSamples',
      withinSamples.length,
      'Ask for at most 100 numbers of samples.',
    );
  withinSamples.forEach((samples, index) => {
    requireWhole(samples, 1, 1e9, `scheme.withinSamples.${index}`);
  });

  const detectionProbability = detection(shift, sampleSize, multiple);
  const falseAlarmProbability = detection(0, sampleSize, multiple);
  const averageRunLength = 1 / detectionProbability;
  const averageHoursToSignal = intervalHours * (averageRunLength - 0.5) + delayHours;
  const partsBetweenShiftAndSignal = partsPerHour * averageHoursToSignal;
  return {
    available: true,
    detectionProbability,
    falseAlarmProbability,
    averageRunLength,
    averageRunLengthInControl: 1 / falseAlarmProbability,
    averageHoursToSignal,
    standardDeviationOfHours:
      intervalHours * Math.sqrt((1 - detectionProbability) / detectionProbability ** 2 + 1 / 12),
    hoursBetweenFalseAlarms: intervalHours / falseAlarmProbability,
    partsBetweenShiftAndSignal,
    detectedWithin: withinSamples.map((samples) => ({
      samples,
      probability: -Math.expm1(samples * Math.log1p(-Math.min(detectionProbability, 1))),
    })),
    message: `After a shift this large, about ${plain(partsBetweenShiftAndSignal)} parts are made in ${plain(averageHoursToSignal)} hours before the chart signals; with nothing wrong it gives a false alarm about every ${plain(intervalHours / falseAlarmProbability)} hours of running.`,
  };
}

/** Chance that the mean of a sample falls outside the limits. */
export function detection(shift: number, sampleSize: number, multiple: number): number {
  const moved = shift * Math.sqrt(sampleSize);
  return Math.min(1, normalUpperTail(multiple - moved) + normalUpperTail(multiple + moved));
}

/** Three digits, as people say them. */
function plain(value: number): string {
  return String(
    Number(value.toPrecision(value >= 100 && value < 1e6 ? Math.floor(Math.log10(value)) + 1 : 3)),
  );
}

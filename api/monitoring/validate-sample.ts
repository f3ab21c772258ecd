import { plantTime } from '../plant-time.ts';
import { unacceptable } from '../problem.ts';
import type { CountedParts, Plant, Reading, SampleSubmission } from '../schemas.ts';
import type { StreamContext } from './stream-context.ts';

const EARLIEST = Date.parse('2000-01-01T00:00:00Z');
/** Clocks of gauges and pages may run ahead a little. */
const AHEAD = 5 * 60_000;

/** Refuses times that can only be mistakes; `subject` begins the sentence that says so. */
export function validTime(
  text: string,
  { field, subject }: { readonly field: string; readonly subject: string },
  now: number,
  { utcOffsetMinutes }: Plant,
): number {
  const time = Date.parse(text);
  if (time < EARLIEST)
    throw unacceptable(field, `${subject} must not be before 2000-01-01; it is ${text}. Check the date.`);
  if (time > now + AHEAD) {
    throw unacceptable(
      field,
      `${subject} must not lie in the future; it is ${text}, and the server's clock shows ${plantTime(now, utcOffsetMinutes)} (plant time). Check date, offset from UTC and clock.`,
    );
  }
  return time;
}

export function validateValues(
  {
    readings,
    count,
  }: { readonly readings?: readonly Reading[] | undefined; readonly count?: CountedParts | undefined },
  { characteristic, plan }: StreamContext,
): void {
  if (characteristic.kind === 'count') {
    if (count === undefined) {
      throw unacceptable('count', `A count must be given: ${characteristic.name} is counted, not measured.`);
    }
    return;
  }
  if (readings === undefined) {
    throw unacceptable(
      'readings',
      `Readings must be given: ${characteristic.name} is measured, not counted.`,
    );
  }
  if (plan !== null && readings.length > plan.sampleSize) {
    throw unacceptable(
      'readings',
      `The sample holds ${readings.length} readings, but the sampling plan asks for ${plan.sampleSize}; send the others as a sample of their own.`,
    );
  }
  if (readings.every(({ value }) => value === null)) {
    throw unacceptable(
      'readings',
      'The sample holds no value; where nothing could be measured, declare it missed with a reason.',
    );
  }
}

/** What the schema cannot know: the plant, the plan and the clock. Gives the time of the sample. */
export function validateSample(submission: SampleSubmission, context: StreamContext, now: number): number {
  const { characteristic, specification, specifiedModels } = context;
  if (specification === null && specifiedModels.length > 0) {
    throw unacceptable(
      'modelId',
      `The part model must be one that ${characteristic.name} has a specification for (${specifiedModels.join(', ')}); add a specification for "${submission.modelId}" in Setup, or choose the right one.`,
    );
  }
  if (submission.unit !== characteristic.unit) {
    throw unacceptable(
      'unit',
      `The unit must be "${characteristic.unit}" as for all values of ${characteristic.name}; it is "${submission.unit}". Convert the values, do not relabel them.`,
    );
  }
  validateValues(submission, context);
  return validTime(
    submission.takenAt,
    { field: 'takenAt', subject: 'The time of the sample' },
    now,
    context.plant,
  );
}

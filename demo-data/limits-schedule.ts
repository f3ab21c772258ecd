/**
 * Which limits the process engineer freezes, from which days, and from when they hold. The loader and the harness
 * both follow it.
 */
import type { StreamKey } from './generator/baselines.ts';
import { type Model, timeOf } from './generator/calendar.ts';

export interface PlannedLimits {
  /** The baseline, both ends included. */
  readonly from: number;
  readonly to: number;
  /** When the engineer freezes them; all samples of the baseline are in by then. */
  readonly frozenAt: number;
  readonly effectiveFrom: number;
  readonly status: 'trial' | 'approved';
  readonly reason: string;
  /** The signals of the baseline, where it holds any, were looked into, and the reason says what they were. */
  readonly signalsExplained: boolean;
}

const planned = (
  baseline: readonly [fromDay: number, from: string, toDay: number, to: string],
  frozen: readonly [day: number, time: string],
  effective: readonly [day: number, time: string],
  status: PlannedLimits['status'],
  reason: string,
): PlannedLimits => ({
  from: timeOf(baseline[0], baseline[1]),
  to: timeOf(baseline[2], baseline[3]),
  frozenAt: timeOf(...frozen),
  effectiveFrom: timeOf(...effective),
  status,
  reason,
  signalsExplained: status === 'approved',
});

const wholeWeek = (fromDay: number, toDay: number, effectiveDay: number, reason: string): PlannedLimits =>
  planned(
    [fromDay, '06:00', toDay, '22:00'],
    [effectiveDay, '05:40'],
    [effectiveDay, '06:00'],
    'approved',
    reason,
  );

/** Six production days: 96 samples of a disc, 64 of the usual model of a line, 32 of Q12. */
const firstWeek = (itsSignals: string): PlannedLimits =>
  wholeWeek(
    1,
    6,
    8,
    `First full week of production, no known disturbance; values typed wrongly were corrected first. ${itsSignals}`,
  );
const first = firstWeek('The few signals in it were looked into, and no cause was found.');
const firstOfCoils = firstWeek(
  'Signals in it were looked into coil by coil: the means step where a coil begins, as thickness differs from coil to coil.',
);
const firstOfWear = firstWeek(
  'The few signals in it were looked into: the punch wears, and no other cause was found.',
);

const afterRegrindTrial = planned(
  [18, '06:00', 18, '13:45'],
  [18, '13:50'],
  [18, '14:00'],
  'trial',
  'Punch reground on day 18: the old limits no longer describe it. Trial limits from the first eight samples.',
);
const afterRegrind = wholeWeek(
  18,
  20,
  22,
  'Three full days after the regrind of day 18. Signals in it were looked into: the limits before did not describe the sharp punch, and no other cause was found.',
);
const runWeek = (fromDay: number, toDay: number, effectiveDay: number): PlannedLimits =>
  wholeWeek(
    fromDay,
    toDay,
    effectiveDay,
    'The punch wears with its strokes, as the last full week shows; limits follow by a week until the chart for wear is there. Signals in it were looked into: that wear, and no other cause found. The drawing limit is watched apart.',
  );
const afterInsert = planned(
  [30, '13:10', 32, '22:00'],
  [33, '05:40'],
  [33, '06:00'],
  'approved',
  'New pierce insert in lane B on day 30 at 13:05: first two and a half days with it. Signals in it were looked into, and no cause was found.',
);

/**
 * Limits of a stream, oldest first; each of its part models has its own. None where the plan draws no chart.
 * Streams of a tool that wears get new ones after it was sharpened and after each full week of its run.
 */
export function limitsSchedule(key: StreamKey): readonly PlannedLimits[] {
  switch (key.characteristic) {
    case 'C3':
      return [];
    case 'C1':
      return [firstOfCoils];
    case 'C8':
      return key.place === 'A'
        ? [
            firstOfWear,
            runWeek(8, 13, 15),
            afterRegrindTrial,
            afterRegrind,
            runWeek(22, 27, 29),
            runWeek(29, 34, 36),
          ]
        : [
            firstOfWear,
            runWeek(8, 13, 15),
            afterRegrindTrial,
            afterRegrind,
            runWeek(22, 27, 29),
            afterInsert,
          ];
    case 'C9':
      return [firstOfWear, runWeek(8, 13, 15), afterRegrind, runWeek(22, 27, 29), runWeek(29, 34, 36)];
    default:
      return [first];
  }
}

/** The models that a stream meets. */
export const modelsOf = (key: StreamKey): readonly Model[] => {
  if (key.place === 'A' || key.place === 'B') return ['DISC'];
  return key.place.endsWith('1') ? ['Q10', 'Q12'] : ['Q12W', 'Q12'];
};

/** Within-subgroup standard deviations come from the average range, as the spread charts are of ranges. */
export const LIMITS_METHOD = 'range';

import { requireBetween, requirePositive, requireWhole } from '../checks.ts';
import { shiftWithinInterval } from './shift-within-interval.ts';
import { detection } from './time-to-signal.ts';

/** What running, sampling, searching and repairing cost. Money in one currency, times in hours. */
export interface SamplingCosts {
  /** Shift that comes, in standard deviations of single parts, −20 … 20, not 0 for a chart that is to help. */
  readonly shift: number;
  /** Shifts an hour of running, above 0, at most 1000. */
  readonly shiftsPerHour: number;
  /** Cost of quality an hour while in control, and while shifted; 0 … 10⁹. */
  readonly costPerHourInControl: number;
  readonly costPerHourShifted: number;
  readonly costPerFalseAlarm: number;
  /** To find and mend the cause of a true signal. */
  readonly costPerRepair: number;
  /** Of taking a sample at all, and of each part in it. */
  readonly costPerSample: number;
  readonly costPerPart: number;
  /** To take and chart one part; 0 … 10⁴. */
  readonly hoursPerPart: number;
  readonly hoursPerFalseAlarm: number;
  readonly hoursToFind: number;
  readonly hoursToRepair: number;
  /** Whether the line runs on while people search, and while they repair. */
  readonly runsDuringSearch: boolean;
  readonly runsDuringRepair: boolean;
}

/** A way to sample for a chart of means. */
export interface SamplingDesign {
  /** Parts in a sample, whole, 1 … 10 000. */
  readonly sampleSize: number;
  /** Hours between samples, above 0, at most 10⁴. */
  readonly intervalHours: number;
  /** Standard deviations of the mean between center line and control limit, 0.1 … 10. */
  readonly multiple: number;
}

export interface SamplingCost {
  readonly costPerHour: number;
  /** Mean hours from one start in control to the next. */
  readonly cycleHours: number;
}

/**
 * What a way to sample costs in the long run: quality, samples, false alarms and repairs over the mean cycle of running
 * in control, shifting unseen, being found and mended. Shifts come at random, all of one size.
 *
 * @param design   sample size, interval, multiple.
 * @param options  costs and times.
 * @returns        cost per hour in the currency given, and the length of the cycle.
 * @throws         StatisticsError `not-finite`, `out-of-range`, `not-an-integer`.
 *
 * Source: Lorenzen and Vance, Technometrics 28(1), 1986; with nothing stopped it is the model of Duncan, Journal of the
 * American Statistical Association 51, 1956.
 *
 * @example
 * samplingCost({ sampleSize: 5, intervalHours: 0.76, multiple: 2.99 }, { shift: 2, shiftsPerHour: 0.05, costPerHourInControl: 0, costPerHourShifted: 100, costPerFalseAlarm: 50, costPerRepair: 25, costPerSample: 1, costPerPart: 0.1, hoursPerPart: 0.0167, hoursPerFalseAlarm: 0, hoursToFind: 1, hoursToRepair: 0, runsDuringSearch: true, runsDuringRepair: true });
 * // costPerHour 10.376…
 */
export function samplingCost(design: SamplingDesign, options: SamplingCosts): SamplingCost {
  requireWhole(design.sampleSize, 1, 10_000, 'design.sampleSize');
  requireInterval(design.intervalHours, 'design.intervalHours');
  requireBetween(design.multiple, 0.1, 10, 'design.multiple');
  requireCosts(options, 'options');
  const { sampleSize, multiple, intervalHours } = design;
  return costOf(
    sampleSize,
    intervalHours,
    detection(options.shift, sampleSize, multiple),
    detection(0, sampleSize, multiple),
    options,
  );
}

export function requireInterval(hours: number, argument: string): void {
  requirePositive(hours, argument);
  requireBetween(hours, 1e-6, 1e4, argument);
}

export function requireCosts(costs: SamplingCosts, argument: string): void {
  requireBetween(costs.shift, -20, 20, `${argument}.shift`);
  requirePositive(costs.shiftsPerHour, `${argument}.shiftsPerHour`);
  requireBetween(costs.shiftsPerHour, 1e-9, 1000, `${argument}.shiftsPerHour`);
  for (const name of [
    'costPerHourInControl',
    'costPerHourShifted',
    'costPerFalseAlarm',
    'costPerRepair',
    'costPerSample',
    'costPerPart',
  ] as const)
    requireBetween(costs[name], 0, 1e9, `${argument}.${name}`);
  for (const name of ['hoursPerPart', 'hoursPerFalseAlarm', 'hoursToFind', 'hoursToRepair'] as const)
    requireBetween(costs[name], 0, 1e4, `${argument}.${name}`);
}

/** The cost, from the chances of a true and of a false signal at one sample. */
export function costOf(
  sampleSize: number,
  intervalHours: number,
  detected: number,
  falseAlarm: number,
  costs: SamplingCosts,
): SamplingCost {
  const { shiftsPerHour, hoursToFind, hoursToRepair } = costs;
  const samplesInControl = 1 / Math.expm1(shiftsPerHour * intervalHours);
  const falseAlarms = samplesInControl * falseAlarm;
  // From the shift to the signal, the charting of its sample included.
  const unseen =
    intervalHours / Math.max(detected, 1e-90) -
    shiftWithinInterval(intervalHours, { shiftsPerHour }) +
    sampleSize * costs.hoursPerPart;
  const shiftedRunning =
    unseen + (costs.runsDuringSearch ? hoursToFind : 0) + (costs.runsDuringRepair ? hoursToRepair : 0);
  const stopped = costs.runsDuringSearch ? 0 : falseAlarms * costs.hoursPerFalseAlarm;
  const cycleHours = 1 / shiftsPerHour + stopped + unseen + hoursToFind + hoursToRepair;
  const quality =
    costs.costPerHourInControl / shiftsPerHour +
    costs.costPerHourShifted * shiftedRunning +
    falseAlarms * costs.costPerFalseAlarm +
    costs.costPerRepair;
  const sampling =
    ((costs.costPerSample + costs.costPerPart * sampleSize) / intervalHours) *
    (1 / shiftsPerHour + shiftedRunning);
  return { costPerHour: (quality + sampling) / cycleHours, cycleHours };
}

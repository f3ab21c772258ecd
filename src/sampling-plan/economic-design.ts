import { requireBetween, requireWhole } from '../checks.ts';
import { StatisticsError } from '../errors.ts';
import { minimize } from '../numerics/minimize.ts';
import {
  costOf,
  requireCosts,
  requireInterval,
  type SamplingCosts,
  type SamplingDesign,
} from './sampling-cost.ts';
import { detection } from './time-to-signal.ts';

/** What people can do in practice: the designs to choose from. */
export interface PracticableDesigns {
  /** 1 … 1000 numbers each. Defaults: 1 … 25 parts; 0.1 … 8 hours by 0.1; multiples 1.5 … 4 by 0.05. */
  readonly sampleSizes?: readonly number[];
  readonly intervalsHours?: readonly number[];
  readonly multiples?: readonly number[];
}

export interface EconomicDesign extends SamplingDesign {
  readonly costPerHour: number;
  /** The least cost with the same sample size when interval and multiple may be any number. */
  readonly refined: {
    readonly intervalHours: number;
    readonly multiple: number;
    readonly costPerHour: number;
  };
}

/**
 * The cheapest way to sample for a chart of means, among those that people can do. Every one of them is tried; equal
 * costs go to the smaller sample, then the shorter interval, then the narrower limits.
 *
 * @param costs    costs and times, as in samplingCost.
 * @param options  sample sizes, intervals, multiples to choose from; at most 10⁶ combinations.
 * @returns        the design, its cost per hour, and how much finer settings would save.
 * @throws         StatisticsError `not-finite`, `out-of-range`, `not-an-integer`, `empty`.
 *
 * Source: Lorenzen and Vance, Technometrics 28(1), 1986; Duncan, Journal of the American Statistical Association 51, 1956.
 *
 * @example
 * economicDesign({ shift: 2, shiftsPerHour: 0.05, costPerHourInControl: 0, costPerHourShifted: 100, costPerFalseAlarm: 50, costPerRepair: 25, costPerSample: 1, costPerPart: 0.1, hoursPerPart: 0.0167, hoursPerFalseAlarm: 0, hoursToFind: 1, hoursToRepair: 0, runsDuringSearch: true, runsDuringRepair: true });
 * // sampleSize 5, intervalHours 0.8, multiple 3, refined.multiple 2.98…
 */
export function economicDesign(costs: SamplingCosts, options: PracticableDesigns = {}): EconomicDesign {
  requireCosts(costs, 'costs');
  const { sampleSizes = range(1, 25, 1), intervalsHours = range(0.1, 8, 0.1) } = options;
  const { multiples = range(1.5, 4, 0.05) } = options;
  requireList(sampleSizes, 'options.sampleSizes', (size, argument) =>
    requireWhole(size, 1, 10_000, argument),
  );
  requireList(intervalsHours, 'options.intervalsHours', requireInterval);
  requireList(multiples, 'options.multiples', (multiple, argument) =>
    requireBetween(multiple, 0.1, 10, argument),
  );
  if (sampleSizes.length * intervalsHours.length * multiples.length > 1e6)
    throw new StatisticsError(
      'out-of-range',
      'options',
      sampleSizes.length * intervalsHours.length * multiples.length,
      'Offer at most a million combinations.',
    );

  let best: SamplingDesign & { readonly costPerHour: number } = {
    sampleSize: 0,
    intervalHours: 0,
    multiple: 0,
    costPerHour: Number.POSITIVE_INFINITY,
  };
  for (const sampleSize of ascending(sampleSizes)) {
    const chances = ascending(multiples).map((multiple) => ({
      multiple,
      detected: detection(costs.shift, sampleSize, multiple),
      falseAlarm: detection(0, sampleSize, multiple),
    }));
    for (const intervalHours of ascending(intervalsHours))
      for (const { multiple, detected, falseAlarm } of chances) {
        const { costPerHour } = costOf(sampleSize, intervalHours, detected, falseAlarm, costs);
        if (costPerHour < best.costPerHour) best = { sampleSize, intervalHours, multiple, costPerHour };
      }
  }
  return { ...best, refined: refine(best, costs) };
}

/** Interval and multiple set free, from the best that was tried. */
function refine(
  { sampleSize, intervalHours, multiple, costPerHour }: EconomicDesign['refined'] & SamplingDesign,
  costs: SamplingCosts,
) {
  const { point, value } = minimize(
    ([logInterval, limits]) => {
      const hours = Math.exp(logInterval!);
      if (!(hours >= 1e-6 && hours <= 1e4 && limits! >= 0.1 && limits! <= 10))
        return Number.POSITIVE_INFINITY;
      const detected = detection(costs.shift, sampleSize, limits!);
      return costOf(sampleSize, hours, detected, detection(0, sampleSize, limits!), costs).costPerHour;
    },
    [Math.log(intervalHours), multiple],
    [0.05, -0.05],
  );
  if (!(value < costPerHour)) return { intervalHours, multiple, costPerHour };
  return { intervalHours: Math.exp(point[0]!), multiple: point[1]!, costPerHour: value };
}

function requireList(
  values: readonly number[],
  argument: string,
  requireOne: (value: number, argument: string) => void,
): void {
  if (values.length === 0) throw new StatisticsError('empty', argument, values);
  requireWhole(values.length, 1, 1000, `${argument}.length`);
  values.forEach((value, index) => {
    requireOne(value, `${argument}.${index}`);
  });
}

const ascending = (values: readonly number[]): number[] => [...values].sort((a, b) => a - b);

/** from, from + step … to, to the decimals that people write. */
function range(from: number, to: number, step: number): number[] {
  const count = Math.round((to - from) / step) + 1;
  return Array.from({ length: count }, (_, place) => Number((from + place * step).toFixed(6)));
}

import { requireBetween, requireWhole } from '../../checks.ts';
import { StatisticsError } from '../../errors.ts';
import type { Subgroup, SubgroupStatistics } from '../../samples/subgroup.ts';
import { subgroupStatistics } from '../../samples/subgroup-statistics.ts';
import { signalsOf } from '../chart-point.ts';
import type { ControlChart, ControlLimits } from '../control-chart.ts';
import { known, type QMeanKnown, type QMeanSettings, qOfT, requireKnown } from './q-mean-chart.ts';
import {
  type QBasis,
  type QChartOptions,
  type QColumns,
  type QPoint,
  qColumns,
  qPoint,
  qSteps,
  requireQCounts,
  requireQReading,
  requireQReadings,
  smallestSquares,
} from './q-statistic.ts';
import { qOfChiSquare, qOfF } from './q-variance-chart.ts';

/** All that the next point needs of history. */
export interface QSubgroupState {
  /** Place of the next subgroup. */
  readonly index: number;
  /** Subgroups with a reading so far, the readings in them, and their mean. */
  readonly subgroups: number;
  readonly readings: number;
  readonly mean: number;
  /** Sum of squared distances of readings from the mean of their own subgroup. */
  readonly squares: number;
}

/** One subgroup on both charts. */
export interface QSubgroupPoint {
  readonly location: QPoint;
  readonly spread: QPoint;
}

export interface QSubgroupCharts {
  readonly location: ControlChart<ControlLimits>;
  readonly spread: ControlChart<ControlLimits>;
  /** Name of the part model at each point; empty where no parts were given. */
  readonly parts: readonly string[];
  readonly basis: QBasis & QMeanKnown;
  /** 0-based places of the points strictly outside their limits, ascending. */
  readonly locationSignals: readonly number[];
  readonly spreadSignals: readonly number[];
}

export interface QSubgroupColumns {
  readonly location: QColumns;
  readonly spread: QColumns;
}

/**
 * Q charts for mean and variance of subgroups: charting starts with the second subgroup of a new part, without a trial run.
 *
 * Mean: w = √(nᵢNᵢ₋₁/Nᵢ)(x̄ᵢ − mean of all readings before)/S_p, S_p pooled within all subgroups up to this one, and Q = Φ⁻¹ of
 * Student's t with Nᵢ − i degrees of freedom. With a given mean w = √nᵢ(x̄ᵢ − μ)/S_p, from the first subgroup on; with a given
 * standard deviation Q = w over it instead of S_p. Variance: Φ⁻¹ of F with nᵢ − 1 and Nᵢ₋₁ − (i − 1) degrees of freedom of
 * sᵢ²/S_p² of the subgroups before; with a given standard deviation of chi-square of (nᵢ − 1)sᵢ²/σ². Above 0 is more spread.
 *
 * @param subgroups  in time order, one unit, readings within ±1e140, null for a missing one; sizes may differ.
 * @param options    mean and standardDeviation where they are known; multiple (default 3); parts.
 * @returns          both charts; null where Q does not exist yet, for a subgroup without readings, the variance of one
 *                   reading, and as long as no subgroup has any spread.
 * @throws           StatisticsError `empty`, `not-finite`, `out-of-range`, `sizes-differ` (options.parts).
 *
 * Source: Quesenberry, SPC Q charts for start-up processes and short or long runs, Journal of Quality Technology 23(3),
 * 1991.
 *
 * @example
 * qSubgroupChart([[10.1, 10.3], [10.2, 10.0], [10.9, 10.7]], {});
 * // location.points[0].value null, location.points[1].value -0.593…, locationSignals []
 */
export function qSubgroupChart(
  subgroups: readonly Subgroup[],
  options: QMeanKnown & QChartOptions = {},
): QSubgroupCharts {
  requireKnown(options, 'options');
  const { points, parts, basis } = qSteps(
    subgroups.length,
    options.parts,
    'subgroups',
    qSubgroupStart(),
    (state, index) => step(state, checkedStatistics(subgroups[index]!, `subgroups.${index}`), options),
  );
  const location = points.map((point) => point.location);
  const spread = points.map((point) => point.spread);
  return {
    location: { statistic: 'Q statistic', points: location },
    spread: { statistic: 'Q statistic', points: spread },
    parts,
    basis: { ...basis, ...known(options) },
    locationSignals: signalsOf(location),
    spreadSignals: signalsOf(spread),
  };
}

/**
 * State of live Q charts of subgroups before the first; keep one for each part model.
 *
 * @returns  a small plain object for qSubgroupNext, ready to be stored.
 *
 * Source: as qSubgroupChart.
 *
 * @example
 * qSubgroupStart();
 * // index 0, subgroups 0, readings 0
 */
export function qSubgroupStart(): QSubgroupState {
  return { index: 0, subgroups: 0, readings: 0, mean: 0, squares: 0 };
}

/**
 * The next point of live Q charts of subgroups; the cost does not grow with history.
 *
 * @param state     what qSubgroupStart or the last qSubgroupNext returned.
 * @param subgroup  its readings, null for a missing one.
 * @param settings  mean and standardDeviation where they are known; multiple.
 * @returns         a point of either chart, and the state for the next subgroup.
 * @throws          StatisticsError as qSubgroupChart; `out-of-range` for a state that no chart can be in.
 *
 * Source: as qSubgroupChart.
 *
 * @example
 * qSubgroupNext(qSubgroupStart(), [12, 12, 13, 13], { mean: 10, standardDeviation: 1 });
 * // point.location.value 5, point.location.beyondLimits true, state.mean 12.5, state.squares 1
 */
export function qSubgroupNext(
  state: QSubgroupState,
  subgroup: Subgroup,
  settings: QMeanSettings,
): { readonly state: QSubgroupState; readonly point: QSubgroupPoint } {
  requireKnown(settings, 'settings');
  const { index, subgroups, readings } = state;
  requireQCounts({ index, subgroups, readings });
  if (subgroups > readings)
    throw new StatisticsError('out-of-range', 'state.subgroups', subgroups, 'Each subgroup has a reading.');
  requireQReading(state.mean, 'state.mean');
  requireBetween(state.squares, 0, 1e300, 'state.squares');
  return step(state, checkedStatistics(subgroup, 'subgroup'), settings);
}

/**
 * Q charts of a long series of subgroups of one part model in columns, nothing kept a subgroup.
 *
 * @param readings  subgroup after subgroup, all of one size, none missing.
 * @param settings  mean and standardDeviation where they are known; multiple; subgroupSize 2 … 1000.
 * @param columns   columns with one entry a subgroup to fill again; absent: new ones.
 * @returns         Q of means and of variances (0 where it does not exist yet), and which are beyond ± multiple.
 * @throws          StatisticsError as qSubgroupChart, `sizes-differ`.
 *
 * Source: as qSubgroupChart.
 *
 * @example
 * qSubgroupColumns(Float64Array.of(12, 12, 13, 13), { mean: 10, standardDeviation: 1, subgroupSize: 4 });
 * // location.values.0 5, location.beyondLimits.0 1, spread.beyondLimits.0 0
 */
export function qSubgroupColumns(
  readings: Float64Array,
  settings: QMeanSettings & { readonly subgroupSize: number },
  columns?: QSubgroupColumns,
): QSubgroupColumns {
  requireKnown(settings, 'settings');
  const { subgroupSize, multiple = 3 } = settings;
  requireWhole(subgroupSize, 2, 1000, 'settings.subgroupSize');
  if (readings.length % subgroupSize !== 0)
    throw new StatisticsError(
      'sizes-differ',
      'readings',
      readings.length,
      'Its length must be a whole number of subgroups.',
    );
  requireQReadings(readings, 'readings');
  const length = readings.length / subgroupSize;
  const filled = {
    location: qColumns(length, columns?.location, 'subgroups in readings'),
    spread: qColumns(length, columns?.spread, 'subgroups in readings'),
  };
  const { values: locations, beyondLimits: locationBeyond } = filled.location;
  const { values: spreads, beyondLimits: spreadBeyond } = filled.spread;
  let grandMean = 0;
  let pooled = 0;
  for (let subgroup = 0, start = 0; subgroup < length; subgroup++, start += subgroupSize) {
    const first = readings[start]!;
    let distances = 0;
    for (let place = start + 1; place < start + subgroupSize; place++) distances += readings[place]! - first;
    const mean = first + distances / subgroupSize;
    let squares = 0;
    let remainder = 0;
    for (let place = start; place < start + subgroupSize; place++) {
      const deviation = readings[place]! - mean;
      squares += deviation * deviation;
      remainder += deviation;
    }
    squares = Math.max(0, squares - (remainder * remainder) / subgroupSize);
    const before = subgroup * subgroupSize;
    const q = qOfMean(subgroup, before, grandMean, pooled + squares, subgroupSize, mean, settings) ?? 0;
    const qSpread =
      qOfVariance(before - subgroup, pooled, subgroupSize, squares, settings.standardDeviation) ?? 0;
    grandMean += ((mean - grandMean) * subgroupSize) / (before + subgroupSize);
    pooled += squares;
    locations[subgroup] = q;
    locationBeyond[subgroup] = q > multiple ? 1 : q < -multiple ? 2 : 0;
    spreads[subgroup] = qSpread;
    spreadBeyond[subgroup] = qSpread > multiple ? 1 : qSpread < -multiple ? 2 : 0;
  }
  return filled;
}

function checkedStatistics(subgroup: Subgroup, argument: string): SubgroupStatistics {
  subgroup.forEach((reading, place) => {
    if (reading !== null) requireQReading(reading, `${argument}.${place}`);
  });
  return subgroupStatistics(subgroup);
}

function step(
  state: QSubgroupState,
  { size, mean, standardDeviation }: SubgroupStatistics,
  settings: QMeanSettings,
) {
  const { index, subgroups, readings } = state;
  const { multiple = 3 } = settings;
  if (mean === null) {
    const point = qPoint(index, null, 0, multiple);
    return { state: { ...state, index: index + 1 }, point: { location: point, spread: point } };
  }
  const squares = standardDeviation === null ? 0 : standardDeviation ** 2 * (size - 1);
  const q = qOfMean(subgroups, readings, state.mean, state.squares + squares, size, mean, settings);
  const spread = qOfVariance(readings - subgroups, state.squares, size, squares, settings.standardDeviation);
  return {
    state: {
      index: index + 1,
      subgroups: subgroups + 1,
      readings: readings + size,
      mean: state.mean + ((mean - state.mean) * size) / (readings + size),
      squares: state.squares + squares,
    },
    point: { location: qPoint(index, q, size, multiple), spread: qPoint(index, spread, size, multiple) },
  };
}

/** Q of a mean after `subgroups` others; `pooled` holds the squares of its own subgroup too. */
function qOfMean(
  subgroups: number,
  readings: number,
  grandMean: number,
  pooled: number,
  size: number,
  mean: number,
  { mean: givenMean, standardDeviation }: QMeanKnown,
): number | null {
  if (givenMean === undefined && subgroups === 0) return null;
  const distance =
    givenMean === undefined
      ? Math.sqrt((size / (readings + size)) * readings) * (mean - grandMean)
      : Math.sqrt(size) * (mean - givenMean);
  if (standardDeviation !== undefined) return distance / standardDeviation;
  const degreesOfFreedom = readings + size - subgroups - 1;
  if (degreesOfFreedom < 1 || pooled < smallestSquares) return null;
  return qOfT(distance / Math.sqrt(pooled / degreesOfFreedom), degreesOfFreedom);
}

/** Q of the squares inside a subgroup, against those of the subgroups before it. */
function qOfVariance(
  degreesOfFreedom: number,
  pooled: number,
  size: number,
  squares: number,
  standardDeviation: number | undefined,
): number | null {
  if (size < 2) return null;
  if (standardDeviation !== undefined)
    return qOfChiSquare(squares / standardDeviation / standardDeviation, size - 1);
  if (degreesOfFreedom < 1 || pooled < smallestSquares) return null;
  return qOfF((squares / pooled) * (degreesOfFreedom / (size - 1)), size - 1, degreesOfFreedom);
}

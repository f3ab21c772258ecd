import { type Available, type Outcome, StatisticsError } from '../../errors.ts';
import type { Subgroup, SubgroupStatistics } from '../../samples/subgroup.ts';
import { subgroupStatistics } from '../../samples/subgroup-statistics.ts';
import { chartPoint } from '../chart-point.ts';
import type { ChartKind, ChartPair, ProcessStandard, VariablesStatistic } from '../control-chart.ts';
import { type EstimateStandardOptions, estimateStandard } from './estimate-standard.ts';
import type { PointLimits } from './point-limits.ts';

/** What the control limits of a chart are drawn from, and how wide they are. */
export interface ChartOptions {
  /** A given mean and standard deviation. Absent: they are estimated from the series itself. */
  readonly standard?: ProcessStandard;
  /** Standard deviations between center line and limit, > 0. Default 3. */
  readonly multiple?: number;
  /** Values below or above these cannot occur; null or absent where there is no such bound. */
  readonly lowerNaturalBound?: number | null;
  readonly upperNaturalBound?: number | null;
}

/** A pair of charts of subgroups has in addition: */
export interface SubgroupChartOptions extends ChartOptions {
  /** Estimate of the within-subgroup standard deviation, as in estimateStandard. Unused with a given standard. */
  readonly method?: Exclude<EstimateStandardOptions['method'], 'moving-range'>;
  /** Where the limits for means come from, as in estimateStandard. Unused with a given standard. */
  readonly meanLimitsFrom?: NonNullable<EstimateStandardOptions['meanLimitsFrom']>;
}

type ChartBasis = Pick<ChartPair, 'standard' | 'method' | 'subgroupsUsed' | 'readingsUsed'>;

const statisticNames: Record<ChartKind, readonly [VariablesStatistic, VariablesStatistic]> = {
  'mean-range': ['mean', 'range'],
  'mean-standard-deviation': ['mean', 'standard deviation'],
  'individuals-moving-range': ['individual value', 'moving range'],
};

/** Statistics of each subgroup; an error names the reading as `<argument>.<subgroup>.<reading>`. */
export function statisticsOfSubgroups(
  subgroups: readonly Subgroup[],
  argument: string,
): SubgroupStatistics[] {
  if (subgroups.length === 0) throw new StatisticsError('empty', argument, subgroups);
  return subgroups.map((subgroup, index) => {
    try {
      return subgroupStatistics(subgroup);
    } catch (error) {
      if (!(error instanceof StatisticsError)) throw error;
      throw new StatisticsError(
        error.code,
        error.argument.replace('subgroup', `${argument}.${index}`),
        error.value,
      );
    }
  });
}

/** The given standard, or one estimated from the series. */
export function chartBasis(
  statistics: readonly SubgroupStatistics[],
  given: ProcessStandard | undefined,
  estimate: EstimateStandardOptions,
): Outcome<ChartBasis> {
  if (given !== undefined)
    return { available: true, standard: given, method: 'given', subgroupsUsed: 0, readingsUsed: 0 };
  const estimated = estimateStandard(statistics, estimate);
  return estimated.available ? { ...estimated, method: estimate.method } : estimated;
}

/** Both charts of a series whose spread values are known. */
export function chartPair(
  kind: ChartKind,
  basis: ChartBasis,
  statistics: readonly SubgroupStatistics[],
  spreadAt: (index: number) => { readonly value: number | null; readonly size: number },
  limitsFor: (size: number) => PointLimits,
): Available<ChartPair> {
  const [locationName, spreadName] = statisticNames[kind];
  const bySize = new Map<number, PointLimits>();
  const limits = statistics.map(({ size }) => {
    const known = bySize.get(size) ?? limitsFor(size);
    bySize.set(size, known);
    return known;
  });
  return {
    available: true,
    kind,
    standard: basis.standard,
    method: basis.method,
    subgroupsUsed: basis.subgroupsUsed,
    readingsUsed: basis.readingsUsed,
    statistics,
    location: {
      statistic: locationName,
      points: statistics.map(({ mean, size }, index) =>
        chartPoint(index, mean, size, limits[index]!.location),
      ),
    },
    spread: {
      statistic: spreadName,
      points: statistics.map((_, index) => {
        const { value, size } = spreadAt(index);
        return chartPoint(index, value, size, limits[index]!.spread);
      }),
    },
  };
}

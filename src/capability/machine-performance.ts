import { requireFiniteValues, requireName } from '../checks.ts';
import { andersonDarling } from '../distribution-fit/anderson-darling.ts';
import { distributionNames } from '../distribution-fit/families.ts';
import type { DistributionName } from '../distribution-fit/fitted-distribution.ts';
import type { Outcome } from '../errors.ts';
import { statisticsOf } from '../samples/subgroup-statistics.ts';
import type { BoundedIndex } from './bounded-index.ts';
import { boundedNormalIndices } from './bounded-normal-indices.ts';
import { distributionPerformance } from './distribution-performance.ts';
import { checkedVerdict, type IndexVerdict, indexVerdict } from './index-verdict.ts';
import { type ExpectedNonconforming, expectedNonconforming } from './normal-indices.ts';
import { checkedResampling, type ResamplingOptions } from './resampling.ts';
import { type RunTrend, runTrend } from './run-trend.ts';
import { effectiveLimits, type SpecificationLimits } from './specification.ts';
import type { Doubt } from './stability.ts';

export interface MachinePerformanceOptions extends ResamplingOptions {
  /** Shape of the characteristic. Default 'normal'; any other is fitted and judged by its percentiles. */
  readonly distribution?: DistributionName;
  /** Default 1.67: higher than for a process, which varies more than one short run shows. Common practice, no source. */
  readonly requiredIndex?: number;
}

export interface MachinePerformance {
  readonly sampleSize: number;
  readonly distribution: DistributionName;
  readonly mean: number;
  readonly standardDeviation: number;
  /** Machine performance indices; null for a missing limit. */
  readonly pm: BoundedIndex | null;
  readonly pml: BoundedIndex | null;
  readonly pmu: BoundedIndex | null;
  readonly pmk: BoundedIndex;
  readonly expectedNonconforming: ExpectedNonconforming;
  readonly observedOutside: number;
  readonly trend: RunTrend;
  /** What the run is short of, though an index may be quoted with it. */
  readonly warnings: readonly Doubt<'few-parts'>[];
  readonly verdict: IndexVerdict;
  /** What the study says and what it does not. */
  readonly statement: string;
}

const fewestParts = 30;
const leastParts = 50;
const usualParts = 100;
const significance = 0.01;

/**
 * Performance of a machine from one short run, as for acceptance after a repair: parts made in a row, with one coil, one
 * setting, one operator, so that only the machine varies. It never says capability, which belongs to a process watched
 * over time.
 *
 * Under 30 parts there is no index; below 50 a warning that the run is too short, below 100 that it is shorter than
 * usual. A trend within the run, or values that are not of the stated shape, leave no verdict.
 *
 * @param values         of parts in the order in which they were made, one unit, none left out.
 * @param specification  at least one limit.
 * @returns              Unavailable `too-few-values`, `no-variation`, `no-specification-limit`, or as from
 *                       distributionPerformance.
 * @throws               StatisticsError `empty`, `not-finite`, `out-of-range`, `unknown-name`, `limits-reversed`,
 *                       `target-outside`, naming the field.
 *
 * Source: ISO 22514-3 (Pm, Pmk; cited from memory); von Neumann's ratio for the trend.
 *
 * @example
 * const values = Array.from({ length: 50 }, (_, i) => 10 + 0.02 * Math.sin(i * i));
 * machinePerformance(values, { lowerSpecificationLimit: 9.9, upperSpecificationLimit: 10.1 });
 * // available, sampleSize 50, warnings.0.reason "few-parts", pm.exact true
 */
export function machinePerformance(
  values: readonly number[],
  specification: SpecificationLimits,
  options: MachinePerformanceOptions = {},
): Outcome<MachinePerformance> {
  const { distribution = 'normal', requiredIndex = 1.67 } = options;
  requireFiniteValues(values, 'values');
  requireName(distribution, distributionNames, 'options.distribution');
  const { confidence } = checkedResampling(options, 2000);
  checkedVerdict({ requiredIndex });
  const limits = effectiveLimits(specification);
  if ('available' in limits) return limits;
  const n = values.length;
  if (n < fewestParts)
    return {
      available: false,
      reason: 'too-few-values',
      message: `A machine study needs at least ${fewestParts} parts, better ${usualParts}; there ${n === 1 ? 'is 1' : `are ${n}`}.`,
    };
  const statistics = statisticsOf(values, 'values');
  const mean = statistics.mean!;
  const standardDeviation = statistics.standardDeviation!;
  const magnitude = Math.max(Math.abs(mean), Math.abs(limits.lower ?? 0), Math.abs(limits.upper ?? 0));
  if (!(standardDeviation > 1e-12 * magnitude))
    return {
      available: false,
      reason: 'no-variation',
      message:
        'All values are equal, so an index would have no meaning. Check that the gauge resolves the variation.',
    };
  const doubts: Doubt[] = [];
  const trend = runTrend(values);
  if (trend.slopePValue < significance || trend.neighboursPValue < significance)
    doubts.push({
      reason: 'trend',
      sentence:
        trend.slopePValue < significance
          ? `The values drift by ${trend.drift.toPrecision(3)} during the run.`
          : 'Neighbouring values are more alike than chance allows: the level moves during the run.',
    });
  const found =
    distribution === 'normal'
      ? ofNormal()
      : distributionPerformance(values, specification, { ...options, distribution });
  if ('available' in found && !found.available) return found;
  if (distribution === 'normal') {
    const shape = andersonDarling(values);
    if (shape.available && shape.pValue < significance)
      doubts.push({
        reason: 'not-normal',
        sentence: `The values are not normally distributed (Anderson-Darling A* = ${shape.adjustedStatistic.toFixed(2)}).`,
      });
  } else if ('verdict' in found)
    doubts.push(...found.verdict.doubts.filter(({ reason }) => reason === 'not-fitting'));

  const { pp: pm, ppl: pml, ppu: pmu, ppk: pmk } = found;
  return {
    available: true,
    sampleSize: n,
    distribution,
    mean,
    standardDeviation,
    pm,
    pml,
    pmu,
    pmk,
    expectedNonconforming: found.expectedNonconforming,
    observedOutside: values.filter(
      (value) => value < (limits.lower ?? -Infinity) || value > (limits.upper ?? Infinity),
    ).length,
    trend,
    warnings: warningsOf(n),
    verdict: verdictOn(pmk, requiredIndex, doubts),
    statement: `Machine performance of one run of ${n} parts: what this machine did under these conditions. It says nothing about other coils, tools, shifts or days; that takes samples over time and a control chart.`,
  };

  function ofNormal() {
    const sample = { sampleSize: n, mean, standardDeviation, degreesOfFreedom: n - 1, isChiSquare: true };
    const { tolerance, lower, upper, smallest } = boundedNormalIndices(sample, limits as never, confidence);
    return {
      pp: tolerance,
      ppl: lower,
      ppu: upper,
      ppk: smallest,
      expectedNonconforming: expectedNonconforming(mean, standardDeviation, limits as never),
    };
  }
}

/** One run has no control chart that could go on; it is the start of one. */
function verdictOn(pmk: BoundedIndex, requiredIndex: number, doubts: readonly Doubt[]): IndexVerdict {
  const verdict = indexVerdict('Pmk', pmk, requiredIndex, doubts);
  if (verdict.level !== 'proven') return verdict;
  return {
    ...verdict,
    nextStep:
      'Begin a control chart: only samples over time show whether the process with this machine stays as this run was.',
  };
}

function warningsOf(n: number): MachinePerformance['warnings'] {
  if (n >= usualParts) return [];
  return [
    {
      reason: 'few-parts',
      sentence:
        n < leastParts
          ? `${n} parts are fewer than the ${leastParts} that a machine study needs; make a longer run.`
          : `${n} parts are fewer than the usual ${usualParts}; the bounds are wide.`,
    },
  ];
}

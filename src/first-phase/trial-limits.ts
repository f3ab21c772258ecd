import type { ChartStatistic, ControlChart, LimitLines } from '../charts/control-chart.ts';
import { requireWhole } from '../checks.ts';
import { type Outcome, StatisticsError } from '../errors.ts';

/** What a person found out about a sample: the only ground on which it may be left out of a baseline. */
export interface ExclusionReason {
  /** 0-based place of the sample. */
  readonly index: number;
  /** What happened there, in words. */
  readonly reason: string;
  /** Who says so. */
  readonly by?: string;
}

/** A point strictly outside the trial limits of its round. */
export interface BeyondTrialLimits {
  readonly index: number;
  readonly chart: ChartStatistic;
  readonly value: number;
  readonly lowerControlLimit: number | null;
  readonly upperControlLimit: number | null;
}

/** Trial limits for samples of one size. */
export interface TrialLimits extends LimitLines {
  readonly chart: ChartStatistic;
  readonly size: number;
}

/** One round: limits from the samples still in, what lay outside, and what was left out for it. */
export interface FirstPhaseRound<Standard> {
  /** 1, 2, … */
  readonly round: number;
  /** Samples that the limits of this round rest on. */
  readonly samplesUsed: number;
  readonly standard: Standard;
  readonly limits: readonly TrialLimits[];
  readonly beyondLimits: readonly BeyondTrialLimits[];
  /** Left out after this round, each with its reason. */
  readonly excluded: readonly ExclusionReason[];
}

export interface FirstPhase<Standard, Chart> {
  readonly rounds: readonly FirstPhaseRound<Standard>[];
  /** Standard and chart of the last round; samples that were left out have no points. */
  readonly standard: Standard;
  readonly chart: Chart;
  /** All that was left out, in the order in which it was. */
  readonly excluded: readonly ExclusionReason[];
  /** Outside the last limits and still in, because nobody has given a reason. */
  readonly needingReason: readonly BeyondTrialLimits[];
  /** Reasons for samples that never lay outside: those samples stayed in. */
  readonly unusedReasons: readonly ExclusionReason[];
  /** No sample that is still in lies outside the last limits. */
  readonly stable: boolean;
  /** What was done and what to do next, in plain words. */
  readonly message: string;
}

/** The charts of one round and what their limits rest on. */
interface Trial<Standard, Chart> {
  readonly standard: Standard;
  readonly samplesUsed: number;
  readonly chart: Chart;
  readonly charts: readonly ControlChart[];
}

/**
 * Draws limits, leaves out what lies outside them and has a reason, draws them anew, until nothing more is left out.
 *
 * @param count     samples in the baseline.
 * @param reasons   at most one a sample.
 * @param draw      the charts without the samples left out so far.
 * @param concerned places of the samples behind a point: a moving range concerns several.
 */
export function iterateTrialLimits<Standard, Chart>(
  count: number,
  reasons: readonly ExclusionReason[],
  draw: (isExcluded: (index: number) => boolean) => Outcome<Trial<Standard, Chart>>,
  concerned: (point: BeyondTrialLimits) => readonly number[] = ({ index }) => [index],
): Outcome<FirstPhase<Standard, Chart>> {
  const reasonOf = reasonsByIndex(reasons, count);
  const excluded = new Map<number, ExclusionReason>();
  const rounds: FirstPhaseRound<Standard>[] = [];
  for (;;) {
    const trial = draw((index) => excluded.has(index));
    if (!trial.available)
      return excluded.size === 0
        ? trial
        : { ...trial, message: `With ${counted(excluded.size)} left out: ${trial.message}` };
    const beyondLimits = trial.charts.flatMap(beyond);
    const found = new Set(beyondLimits.flatMap(concerned));
    const next = [...found].sort((a, b) => a - b).flatMap((index) => reasonOf.get(index) ?? []);
    rounds.push({
      round: rounds.length + 1,
      samplesUsed: trial.samplesUsed,
      standard: trial.standard,
      limits: trial.charts.flatMap(limitsBySize),
      beyondLimits,
      excluded: next,
    });
    for (const reason of next) excluded.set(reason.index, reason);
    if (next.length > 0) continue;
    return {
      available: true,
      rounds,
      standard: trial.standard,
      chart: trial.chart,
      excluded: [...excluded.values()],
      needingReason: beyondLimits,
      unusedReasons: reasons.filter(({ index }) => !excluded.has(index)),
      stable: beyondLimits.length === 0,
      message: sentences(rounds.length, excluded.size, beyondLimits, trial.samplesUsed),
    };
  }
}

function reasonsByIndex(reasons: readonly ExclusionReason[], count: number): Map<number, ExclusionReason> {
  const byIndex = new Map<number, ExclusionReason>();
  reasons.forEach((reason, place) => {
    requireWhole(reason.index, 0, count - 1, `options.reasons.${place}.index`);
    if (reason.reason.trim() === '')
      throw new StatisticsError(
        'empty',
        `options.reasons.${place}.reason`,
        reason.reason,
        'Say what happened there, in words.',
      );
    if (byIndex.has(reason.index))
      throw new StatisticsError(
        'out-of-range',
        `options.reasons.${place}.index`,
        reason.index,
        'This sample has a reason already.',
      );
    byIndex.set(reason.index, reason);
  });
  return byIndex;
}

function beyond({ statistic, points }: ControlChart): BeyondTrialLimits[] {
  return points.flatMap(({ index, value, limits, beyondLimits }) =>
    beyondLimits
      ? [
          {
            index,
            chart: statistic,
            value: value!,
            lowerControlLimit: limits!.lowerControlLimit,
            upperControlLimit: limits!.upperControlLimit,
          },
        ]
      : [],
  );
}

function limitsBySize({ statistic, points }: ControlChart): TrialLimits[] {
  const bySize = new Map<number, TrialLimits>();
  for (const { size, limits } of points)
    if (limits !== null && !bySize.has(size)) {
      const { centerLine, lowerControlLimit, upperControlLimit } = limits;
      bySize.set(size, { chart: statistic, size, centerLine, lowerControlLimit, upperControlLimit });
    }
  return [...bySize.values()].sort((a, b) => a.size - b.size);
}

function sentences(
  rounds: number,
  excluded: number,
  needing: readonly BeyondTrialLimits[],
  used: number,
): string {
  const done =
    excluded === 0
      ? 'Nothing was left out.'
      : `${counted(excluded)} left out in ${rounds - 1} ${rounds === 2 ? 'round' : 'rounds'}, each for the reason given.`;
  if (needing.length === 0)
    return `${done} No other sample lies outside the limits, which rest on ${counted(used)}: they can be used for what comes next.`;
  const places = [...new Set(needing.map(({ index }) => index))]
    .sort((a, b) => a - b)
    .map((index) => index + 1);
  const named =
    places.length > 10
      ? `${places.slice(0, 10).join(', ')} and ${places.length - 10} more`
      : places.join(', ');
  return `${done} Outside the limits without a reason, and therefore still in: sample ${named}. Find out what happened there; leave a sample out only for a cause that was found and removed.`;
}

function counted(samples: number): string {
  return `${samples} ${samples === 1 ? 'sample' : 'samples'}`;
}

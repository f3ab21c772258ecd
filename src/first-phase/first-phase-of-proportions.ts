import type { AttributesChart } from '../charts/attributes/attributes-chart.ts';
import type { AttributesLimitsOptions } from '../charts/attributes/attributes-family.ts';
import type { CountSample } from '../charts/attributes/count-sample.ts';
import { pChart } from '../charts/attributes/p-chart.ts';
import { type Outcome, StatisticsError } from '../errors.ts';
import { type ExclusionReason, type FirstPhase, iterateTrialLimits } from './trial-limits.ts';

export interface FirstPhaseOfProportionsOptions extends AttributesLimitsOptions {
  /** What a person found out about single samples. Default none. */
  readonly reasons?: readonly ExclusionReason[];
}

/**
 * First phase of a p chart: as firstPhase, for proportions of nonconforming parts.
 *
 * @param samples  in time order, as in pChart; null for a missing one.
 * @param options  reasons; multiple or falseAlarmProbability as in pChart.
 * @returns        rounds, final proportion and chart (samples left out are gaps), and what to do next; Unavailable
 *                 `too-few-values` where nothing is left.
 * @throws         StatisticsError as pChart and firstPhase.
 *
 * Source: Montgomery, Introduction to Statistical Quality Control, section 7.2.1 (trial control limits).
 *
 * @example
 * const samples = [2, 3, 1, 30, 2, 2].map((count) => ({ count, size: 100 }));
 * firstPhaseOfProportions(samples, { reasons: [{ index: 3, reason: 'new inspector' }] });
 * // available, stable true, standard 0.02, rounds[0].standard 0.0666…
 */
export function firstPhaseOfProportions(
  samples: readonly (CountSample | null)[],
  options: FirstPhaseOfProportionsOptions = {},
): Outcome<FirstPhase<number, AttributesChart>> {
  const { reasons = [], ...others } = options;
  if (samples.length === 0) throw new StatisticsError('empty', 'samples', samples);
  return iterateTrialLimits(samples.length, reasons, (isExcluded) => {
    const drawn = pChart(
      samples.map((sample, index) => (isExcluded(index) ? null : sample)),
      others,
    );
    if (!drawn.available) return drawn;
    const { available, ...chart } = drawn;
    return {
      available,
      standard: chart.basis.standard,
      samplesUsed: chart.basis.samples,
      chart,
      charts: [chart],
    };
  });
}

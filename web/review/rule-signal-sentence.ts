import type { ChartKind, VariablesStatistic } from '../../src/charts/control-chart.ts';
import type { MonitoringSignal } from '../../src/charts/variables/evaluate-newest.ts';
import { signalSentence } from '../../src/run-rules/signal-sentence.ts';

type Statistic = VariablesStatistic;

const statistics: Record<ChartKind, { readonly location: Statistic; readonly spread: Statistic }> = {
  'mean-range': { location: 'mean', spread: 'range' },
  'mean-standard-deviation': { location: 'mean', spread: 'standard deviation' },
  'individuals-moving-range': { location: 'individual value', spread: 'moving range' },
};

/** The sentence of a signal that this page found, in the same words as the server's. */
export const ruleSignalSentence = (kind: ChartKind, { rule, chart, side }: MonitoringSignal): string =>
  signalSentence({ rule, chart, side, statistic: statistics[kind][chart] });

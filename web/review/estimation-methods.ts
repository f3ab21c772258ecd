import type { LimitsRequest } from '../../api/schemas.ts';
import type { ChartKind } from '../../src/charts/control-chart.ts';

type BaselineMethod = Extract<LimitsRequest['source'], { kind: 'baseline' }>['method'];

interface Method {
  readonly name: BaselineMethod;
  readonly words: string;
}

const range: Method = { name: 'range', words: 'average range of the samples' };
const standardDeviation: Method = {
  name: 'standard-deviation',
  words: 'average standard deviation of the samples',
};
const pooled: Method = { name: 'pooled', words: 'pooled variance of the samples' };
const movingRange: Method = { name: 'moving-range', words: 'average moving range of neighbouring values' };

/** How the within-subgroup standard deviation may be estimated for a chart; the usual way first. */
export const estimationMethods: Record<ChartKind, readonly [Method, ...Method[]]> = {
  'mean-range': [range, pooled, standardDeviation],
  'mean-standard-deviation': [standardDeviation, pooled, range],
  'individuals-moving-range': [movingRange],
};

/** The public face of the statistics core: what is exported here is documented and stable, the rest is private. */

// autocorrelation/
export {
  type AutocorrelationTest,
  type AutocorrelationTestOptions,
  autocorrelationTest,
} from './autocorrelation/autocorrelation-test.ts';
export {
  type Autocorrelations,
  autocorrelations,
  type LagCorrelation,
} from './autocorrelation/autocorrelations.ts';
export {
  type FalseAlarmsUnderAutocorrelation,
  falseAlarmsUnderAutocorrelation,
} from './autocorrelation/false-alarms-under-autocorrelation.ts';
export {
  type Autoregression,
  type FittedAutoregression,
  fitAutoregression,
} from './autocorrelation/fit-autoregression.ts';
// capability/
export {
  type Capability,
  type CapabilityIndex,
  type CapabilityOptions,
  capability,
} from './capability/capability.ts';
export {
  type CapabilityVerdict,
  type CapabilityVerdictInput,
  type CapabilityVerdictOptions,
  capabilityVerdict,
} from './capability/capability-verdict.ts';
export {
  estimateNeeded,
  type IndexInterval,
  type IndexIntervalMethod,
  type IndexIntervalOptions,
  oneSidedIndexInterval,
  smallestIndexInterval,
  targetIndexInterval,
  toleranceIndexInterval,
} from './capability/index-interval.ts';
export type { ExpectedNonconforming } from './capability/normal-indices.ts';
export {
  type DistributionPercentiles,
  type PercentileIndices,
  percentileIndices,
} from './capability/percentile-indices.ts';
export type { SpecificationLimits } from './capability/specification.ts';
export type { Doubt, Stability } from './capability/stability.ts';

// charts/
export type { ChartOptions, SubgroupChartOptions } from './charts/chart-pair.ts';
export type {
  ChartKind,
  ChartPair,
  ChartPoint,
  ChartResult,
  ChartStatistic,
  ControlChart,
  ControlLimits,
  LimitLines,
  ProcessStandard,
  StandardDeviationMethod,
  VariablesStatistic,
} from './charts/control-chart.ts';
export {
  type EstimatedStandard,
  type EstimateStandardOptions,
  estimateStandard,
} from './charts/estimate-standard.ts';
export {
  evaluateNewest,
  evaluateSeries,
  type MonitoringSettings,
  type MonitoringSignal,
  type PointEvaluation,
  windowLength,
} from './charts/evaluate-newest.ts';
export {
  type EvaluateReadingsOptions,
  evaluateReadings,
  type ReadingsColumns,
  type ReadingsEvaluation,
} from './charts/evaluate-readings.ts';
export {
  type IndividualsAndMovingRangeChartOptions,
  individualsAndMovingRangeChart,
} from './charts/individuals-and-moving-range-chart.ts';
export { meanAndRangeChart } from './charts/mean-and-range-chart.ts';
export {
  type MeanAndStandardDeviationChartOptions,
  meanAndStandardDeviationChart,
} from './charts/mean-and-standard-deviation-chart.ts';
export {
  type MewmaBasis,
  type MewmaChart,
  type MewmaPoint,
  type MewmaSettings,
  type MewmaState,
  mewmaChart,
  mewmaColumns,
  mewmaNext,
  mewmaStart,
} from './charts/mewma-chart.ts';
export { type MewmaDesign, mewmaAverageRunLength, mewmaLimit } from './charts/mewma-limit.ts';
export {
  type MultivariateStandard,
  multivariateStandard,
  multivariateStandardOfSubgroups,
  type Observation,
} from './charts/multivariate-standard.ts';
export { type PointLimits, type PointLimitsOptions, pointLimits } from './charts/point-limits.ts';
export {
  type ResidualChartBasis,
  type ResidualChartSettings,
  type ResidualState,
  residualChart,
  residualNext,
  residualStart,
} from './charts/residual-chart.ts';
export { type ResidualColumns, residualColumns } from './charts/residual-columns.ts';
export {
  type TSquaredBasis,
  type TSquaredChart,
  type TSquaredChartOptions,
  type TSquaredPoint,
  type TSquaredSettings,
  tSquaredChart,
  tSquaredPoint,
  tSquaredSubgroupChart,
  tSquaredSubgroupPoint,
} from './charts/t-squared-chart.ts';
export {
  type FilledTSquaredColumns,
  type TSquaredColumns,
  tSquaredColumns,
} from './charts/t-squared-columns.ts';
export {
  type CharacteristicContribution,
  type TSquaredContributions,
  tSquaredContributions,
} from './charts/t-squared-contributions.ts';
export { type TSquaredLimitsOptions, type TSquaredPhase, tSquaredLimits } from './charts/t-squared-limits.ts';
// comparison/
export {
  type DifferenceOfMeans,
  type DifferencesOfMeans,
  type DifferencesOfMeansOptions,
  differencesOfMeans,
} from './comparison/differences-of-means.ts';
export {
  type LinearRegression,
  type LinearRegressionOptions,
  linearRegression,
  type RegressionCoefficient,
} from './comparison/linear-regression.ts';
export {
  type OneWayAnalysisOfVariance,
  type OneWayAnalysisOfVarianceOptions,
  oneWayAnalysisOfVariance,
  type VarianceSource,
} from './comparison/one-way-analysis-of-variance.ts';
export {
  type RegressionPrediction,
  type RegressionPredictionOptions,
  regressionPrediction,
} from './comparison/regression-prediction.ts';
// containment/
export { type SuspectWindow, type SuspectWindowInput, suspectWindow } from './containment/suspect-window.ts';
// decision/
export { type Count, type CountComparison, compareCount } from './decision/compare-count.ts';
export { limitPassed } from './decision/limit-passed.ts';
export {
  type QuestionKind,
  questionValue,
  type ValueExpectation,
  type ValueQuestion,
} from './decision/question-value.ts';
export { type SampleVerdict, type SampleVerdictInput, sampleVerdict } from './decision/sample-verdict.ts';
export { singleValueStandardDeviation } from './decision/single-value-standard-deviation.ts';
// distribution-fit/
export {
  type AndersonDarling,
  andersonDarling,
  andersonDarlingCriticalValues,
  andersonDarlingPValue,
} from './distribution-fit/anderson-darling.ts';
export {
  distributionLowerTail,
  distributionQuantile,
  distributionUpperTail,
} from './distribution-fit/distribution-tails.ts';
export { type FitDistributionOptions, fitDistribution } from './distribution-fit/fit-distribution.ts';
export type {
  Distribution,
  DistributionName,
  DistributionParameters,
  FittedDistribution,
} from './distribution-fit/fitted-distribution.ts';
// run-rules/
export { findSignals } from './run-rules/find-signals.ts';
export {
  type RunRuleName,
  type RunRuleSettings,
  type RunRuleSignal,
  runRuleNames,
} from './run-rules/run-rule.ts';
export { type SignalDescription, signalSentence } from './run-rules/signal-sentence.ts';
// samples/
export { type ChartFactors, chartFactors } from './samples/chart-factors.ts';
export { lagOneAutocorrelation } from './samples/lag-one-autocorrelation.ts';
export { movingRanges } from './samples/moving-ranges.ts';
export type { Subgroup, SubgroupStatistics } from './samples/subgroup.ts';
export { subgroupStatistics } from './samples/subgroup-statistics.ts';
// sampling-plan/
export {
  type DueSample,
  type DueSamplesInput,
  type DueState,
  dueSamples,
} from './sampling-plan/due-samples.ts';
export type { RunningHours, Stoppage } from './sampling-plan/running-hours.ts';

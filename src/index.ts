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
  type AttributeCapability,
  type AttributeCapabilityOptions,
  type AttributeCount,
  type AttributeEstimate,
  attributeCapability,
} from './capability/attribute-capability.ts';
export {
  type AttributeSampleSize,
  type AttributeSampleSizeOptions,
  attributeSampleSize,
} from './capability/attribute-sample-size.ts';
export {
  type BootstrapIndex,
  type BootstrapIndexOptions,
  bootstrapIndex,
} from './capability/bootstrap-index.ts';
export type { BoundedIndex, IndexBoundMethod } from './capability/bounded-index.ts';
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
  type DistributionPerformance,
  type DistributionPerformanceOptions,
  distributionPerformance,
} from './capability/distribution-performance.ts';
export { fractionOutsideCircle, type PositionDistribution } from './capability/fraction-outside-circle.ts';
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
export {
  type IndexSampleSize,
  type IndexSampleSizeOptions,
  indexSampleSize,
} from './capability/index-sample-size.ts';
export type { IndexVerdict, VerdictOptions } from './capability/index-verdict.ts';
export {
  type MachinePerformance,
  type MachinePerformanceOptions,
  machinePerformance,
} from './capability/machine-performance.ts';
export type { ModelPerformance, TimeDependentModelName } from './capability/model-performance.ts';
export type { ExpectedNonconforming } from './capability/normal-indices.ts';
export { type Hole, type PatternPerformance, patternPerformance } from './capability/pattern-performance.ts';
export {
  type DistributionPercentiles,
  type PercentileIndices,
  percentileIndices,
} from './capability/percentile-indices.ts';
export {
  type PartsIndex,
  type PerformanceOfParts,
  type PerformanceOfPartsOptions,
  performanceOfParts,
} from './capability/performance-of-parts.ts';
export {
  type Position,
  type PositionPerformance,
  type PositionPerformanceOptions,
  positionPerformance,
  type RayleighPosition,
} from './capability/position-performance.ts';
export type { ResamplingOptions } from './capability/resampling.ts';
export type { RunTrend } from './capability/run-trend.ts';
export type { SpecificationLimits } from './capability/specification.ts';
export type { Doubt, Stability } from './capability/stability.ts';
export {
  type OneStream,
  type PerformanceIndices,
  type Stream,
  type StreamPerformance,
  type StreamPerformanceOptions,
  streamPerformance,
} from './capability/stream-performance.ts';
export {
  type ModelTest,
  type TimeDependentModel,
  type TimeDependentModelOptions,
  timeDependentModel,
} from './capability/time-dependent-model.ts';
export { type ToleranceIndexRatioOptions, toleranceIndexRatio } from './capability/tolerance-index-ratio.ts';
export type { ChangePoint, PlausibleOptions, SizeOptions } from './change-point/change-point.ts';

// change-point/
export {
  type ChangePointTest,
  type ChangePointTestOptions,
  changePointTest,
} from './change-point/change-point-test.ts';
export {
  type BinomialChangePointOptions,
  binomialChangePoint,
  type PoissonChangePointOptions,
  poissonChangePoint,
} from './change-point/count-change-points.ts';
export { type DriftChangePointOptions, driftChangePoint } from './change-point/drift-change-point.ts';
export { type MeanChangePointOptions, meanChangePoint } from './change-point/mean-change-point.ts';
export {
  type VarianceChangePointOptions,
  varianceChangePoint,
} from './change-point/variance-change-point.ts';
// charts/acceptance/
export { acceptanceChart, acceptancePoint } from './charts/acceptance/acceptance-chart.ts';
export { type AcceptanceColumns, acceptanceColumns } from './charts/acceptance/acceptance-columns.ts';
export type {
  AcceptanceBasis,
  AcceptanceRule,
  AcceptanceSide,
} from './charts/acceptance/acceptance-limits.ts';
export {
  type AcceptancePlan,
  type AcceptancePlanOptions,
  acceptancePlan,
  type ProcessLevels,
} from './charts/acceptance/acceptance-plan.ts';
export { acceptanceProbability } from './charts/acceptance/acceptance-probability.ts';
// charts/attributes/
export type {
  AttributesBasis,
  AttributesChart,
  AttributesChartOptions,
  AttributesSettings,
} from './charts/attributes/attributes-chart.ts';
export type { AttributesLimits, AttributesLimitsOptions } from './charts/attributes/attributes-family.ts';
export { cChart, cColumns, cPoint } from './charts/attributes/c-chart.ts';
export {
  type CountDispersion,
  type CountDispersionOptions,
  countDispersion,
} from './charts/attributes/count-dispersion.ts';
export type { CountDistribution, CountSample } from './charts/attributes/count-sample.ts';
export {
  type GBasis,
  type GChartOptions,
  type GSettings,
  gChart,
  gColumns,
  gPoint,
} from './charts/attributes/g-chart.ts';
export type { LaneyBasis, LaneyChart, LaneyChartOptions, LaneySettings } from './charts/attributes/laney.ts';
export { npChart, npColumns, npPoint } from './charts/attributes/np-chart.ts';
export { pChart, pColumns, pPoint } from './charts/attributes/p-chart.ts';
export { pPrimeChart, pPrimeColumns, pPrimePoint } from './charts/attributes/p-prime-chart.ts';
export {
  binomialProbabilityLimits,
  geometricProbabilityLimits,
  type ProbabilityLimits,
  poissonProbabilityLimits,
  type TailProbabilities,
} from './charts/attributes/probability-limits.ts';
export {
  type TBasis,
  type TChartOptions,
  type TSettings,
  tChart,
  tColumns,
  tPoint,
} from './charts/attributes/t-chart.ts';
export {
  type TPowerBasis,
  type TPowerChartOptions,
  type TPowerSettings,
  type TPowerStandard,
  tPowerChart,
  tPowerColumns,
  tPowerPoint,
} from './charts/attributes/t-power-chart.ts';
export { uChart, uColumns, uPoint } from './charts/attributes/u-chart.ts';
export { uPrimeChart, uPrimeColumns, uPrimePoint } from './charts/attributes/u-prime-chart.ts';
// charts/batches-and-lanes/
export {
  type GroupBasis,
  type GroupChart,
  groupChart,
  groupNext,
  groupStart,
} from './charts/batches-and-lanes/group-chart.ts';
export {
  type GroupColumnSettings,
  type GroupColumns,
  groupColumns,
} from './charts/batches-and-lanes/group-columns.ts';
export {
  type GroupLimitOptions,
  type GroupLimits,
  type GroupLimitsInput,
  groupLimits,
} from './charts/batches-and-lanes/group-limits.ts';
export type {
  GroupChartOptions,
  GroupPoints,
  GroupSettings,
  GroupState,
  LanePoint,
  LaneRunSignal,
} from './charts/batches-and-lanes/judge-lanes.ts';
export {
  type LaneRunLength,
  type LaneRunLengthOptions,
  laneRunLength,
} from './charts/batches-and-lanes/lane-run-length.ts';
export {
  type BatchComponents,
  type ThreeWayBasis,
  type ThreeWayChart,
  type ThreeWayChartOptions,
  type ThreeWayPoints,
  type ThreeWaySettings,
  type ThreeWayState,
  threeWayChart,
  threeWayNext,
  threeWayStart,
} from './charts/batches-and-lanes/three-way-chart.ts';
export {
  type ThreeWayColumnSettings,
  type ThreeWayColumns,
  threeWayColumns,
} from './charts/batches-and-lanes/three-way-columns.ts';
// charts/
export type { BeyondColumns } from './charts/beyond-columns.ts';
export type { ChartColumns } from './charts/chart-columns.ts';
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
// charts/several-characteristics/
export type { MewmaBasis, MewmaSettings } from './charts/several-characteristics/mewma-basis.ts';
export {
  type MewmaChart,
  type MewmaPoint,
  type MewmaState,
  mewmaChart,
  mewmaNext,
  mewmaStart,
} from './charts/several-characteristics/mewma-chart.ts';
export { mewmaColumns } from './charts/several-characteristics/mewma-columns.ts';
export {
  type MewmaDesign,
  mewmaAverageRunLength,
  mewmaLimit,
} from './charts/several-characteristics/mewma-limit.ts';
export {
  type MultivariateStandard,
  multivariateStandard,
  multivariateStandardOfSubgroups,
  type Observation,
} from './charts/several-characteristics/multivariate-standard.ts';
export {
  type TSquaredChart,
  type TSquaredChartOptions,
  tSquaredChart,
  tSquaredPoint,
  tSquaredSubgroupChart,
  tSquaredSubgroupPoint,
} from './charts/several-characteristics/t-squared-chart.ts';
export {
  type FilledTSquaredColumns,
  type TSquaredColumns,
  tSquaredColumns,
} from './charts/several-characteristics/t-squared-columns.ts';
export {
  type CharacteristicContribution,
  type TSquaredContributions,
  tSquaredContributions,
} from './charts/several-characteristics/t-squared-contributions.ts';
export type {
  TSquaredBasis,
  TSquaredPoint,
  TSquaredSettings,
} from './charts/several-characteristics/t-squared-judge.ts';
export {
  type TSquaredLimits,
  type TSquaredLimitsOptions,
  type TSquaredPhase,
  tSquaredLimits,
} from './charts/several-characteristics/t-squared-limits.ts';
// charts/short-runs/
export {
  type DeviationFromNominalOptions,
  type DeviationFromNominalSettings,
  deviationFromNominalChart,
  deviationFromNominalColumns,
  deviationFromNominalPoint,
  type NominalModel,
} from './charts/short-runs/deviation-from-nominal-chart.ts';
export {
  type DeviationFromNominalIndividualsOptions,
  deviationFromNominalIndividualsChart,
  deviationFromNominalIndividualsColumns,
  deviationFromNominalIndividualsNext,
  deviationFromNominalIndividualsStart,
} from './charts/short-runs/deviation-from-nominal-individuals-chart.ts';
export type { PartSample, PartValue } from './charts/short-runs/part-models.ts';
export {
  type QBinomialKnown,
  type QBinomialSettings,
  type QBinomialState,
  qBinomialChart,
  qBinomialColumns,
  qBinomialNext,
  qBinomialStart,
} from './charts/short-runs/q-binomial-chart.ts';
export {
  type QMeanKnown,
  type QMeanSettings,
  type QMeanState,
  qMeanChart,
  qMeanColumns,
  qMeanNext,
  qMeanStart,
} from './charts/short-runs/q-mean-chart.ts';
export {
  type QPoissonKnown,
  type QPoissonSettings,
  type QPoissonState,
  qPoissonChart,
  qPoissonColumns,
  qPoissonNext,
  qPoissonStart,
} from './charts/short-runs/q-poisson-chart.ts';
export type {
  QBasis,
  QChart,
  QChartOptions,
  QColumns,
  QOptions,
  QPoint,
} from './charts/short-runs/q-statistic.ts';
export {
  type QSubgroupCharts,
  type QSubgroupColumns,
  type QSubgroupPoint,
  type QSubgroupState,
  qSubgroupChart,
  qSubgroupColumns,
  qSubgroupNext,
  qSubgroupStart,
} from './charts/short-runs/q-subgroup-chart.ts';
export {
  type QVarianceKnown,
  type QVarianceSettings,
  type QVarianceState,
  qVarianceChart,
  qVarianceColumns,
  qVarianceNext,
  qVarianceStart,
} from './charts/short-runs/q-variance-chart.ts';
export type {
  ShortRunCharts,
  ShortRunColumns,
  ShortRunPoint,
  ShortRunState,
} from './charts/short-runs/short-run-charts.ts';
export {
  type StandardisedModel,
  type StandardisedOptions,
  standardisedChart,
  standardisedColumns,
  standardisedPoint,
} from './charts/short-runs/standardised-chart.ts';
export {
  type StandardisedIndividualsModel,
  type StandardisedIndividualsOptions,
  standardisedIndividualsChart,
  standardisedIndividualsColumns,
  standardisedIndividualsNext,
  standardisedIndividualsStart,
} from './charts/short-runs/standardised-individuals-chart.ts';
// charts/small-shifts/
export {
  binomialCusumChart,
  binomialCusumColumns,
  binomialCusumNext,
  binomialCusumStart,
} from './charts/small-shifts/binomial-cusum-chart.ts';
export type {
  CountCusumBasis,
  CountCusumChart,
  CountCusumColumns,
  CountCusumPoint,
  CountCusumSettings,
  CountCusumState,
} from './charts/small-shifts/count-cusum.ts';
export {
  type CountCusumRunLength,
  type CountCusumRunLengthOptions,
  countCusumRunLength,
} from './charts/small-shifts/count-cusum-run-length.ts';
export {
  type CusumBasis,
  type CusumChange,
  type CusumChart,
  type CusumPoint,
  type CusumSettings,
  type CusumSide,
  type CusumState,
  cusumChart,
  cusumNext,
  cusumStart,
} from './charts/small-shifts/cusum-chart.ts';
export { type CusumColumns, cusumColumns } from './charts/small-shifts/cusum-columns.ts';
export {
  type EwmaBasis,
  type EwmaOptions,
  type EwmaSettings,
  type EwmaState,
  ewmaChart,
  ewmaNext,
  ewmaStart,
} from './charts/small-shifts/ewma-chart.ts';
export { ewmaColumns } from './charts/small-shifts/ewma-columns.ts';
export {
  type MovingAverageBasis,
  type MovingAverageOptions,
  type MovingAverageSettings,
  type MovingAverageState,
  movingAverageChart,
  movingAverageNext,
  movingAverageStart,
} from './charts/small-shifts/moving-average-chart.ts';
export { movingAverageColumns } from './charts/small-shifts/moving-average-columns.ts';
export {
  poissonCusumChart,
  poissonCusumColumns,
  poissonCusumNext,
  poissonCusumStart,
} from './charts/small-shifts/poisson-cusum-chart.ts';
export type { TimeWeightedOptions, VaryingSizes } from './charts/small-shifts/time-weighted.ts';
// charts/trends/
export {
  type ResidualChartBasis,
  type ResidualChartSettings,
  type ResidualState,
  residualChart,
  residualNext,
  residualStart,
} from './charts/trends/residual-chart.ts';
export { type ResidualColumns, residualColumns } from './charts/trends/residual-columns.ts';
export {
  type ToolWearBasis,
  type ToolWearChartOptions,
  type ToolWearColumnSettings,
  type ToolWearColumns,
  toolWearChart,
  toolWearColumns,
  toolWearPoint,
  type WearSettings,
} from './charts/trends/tool-wear-chart.ts';
// charts/variables/
export type { ChartOptions, SubgroupChartOptions } from './charts/variables/chart-pair.ts';
export {
  type EstimatedStandard,
  type EstimateStandardOptions,
  estimateStandard,
} from './charts/variables/estimate-standard.ts';
export {
  evaluateNewest,
  evaluateSeries,
  type MonitoringSettings,
  type MonitoringSignal,
  type PointEvaluation,
  windowLength,
} from './charts/variables/evaluate-newest.ts';
export {
  type EvaluateReadingsOptions,
  evaluateReadings,
  type ReadingsColumns,
  type ReadingsEvaluation,
} from './charts/variables/evaluate-readings.ts';
export {
  type IndividualsAndMovingRangeChartOptions,
  individualsAndMovingRangeChart,
} from './charts/variables/individuals-and-moving-range-chart.ts';
export { meanAndRangeChart } from './charts/variables/mean-and-range-chart.ts';
export {
  type MeanAndStandardDeviationChartOptions,
  meanAndStandardDeviationChart,
} from './charts/variables/mean-and-standard-deviation-chart.ts';
export { type PointLimits, type PointLimitsOptions, pointLimits } from './charts/variables/point-limits.ts';
export {
  type RobustLimitsBasis,
  type RobustLimitsOptions,
  type RobustLimitsSettings,
  robustLimitsChart,
  robustLimitsColumns,
  robustLimitsPoint,
} from './charts/variables/robust-limits-chart.ts';
// comparison/
export { type BartlettTest, type BartlettTestOptions, bartlettTest } from './comparison/bartlett-test.ts';
export {
  type DifferenceOfMeans,
  type DifferencesOfMeans,
  type DifferencesOfMeansOptions,
  differencesOfMeans,
} from './comparison/differences-of-means.ts';
export { type KruskalWallisTest, kruskalWallisTest } from './comparison/kruskal-wallis-test.ts';
export { type LeveneTest, leveneTest } from './comparison/levene-test.ts';
export {
  type LinearRegression,
  type LinearRegressionOptions,
  linearRegression,
  type RegressionCoefficient,
} from './comparison/linear-regression.ts';
export { type MannWhitneyTest, mannWhitneyTest } from './comparison/mann-whitney-test.ts';
export { type MeanInterval, type MeanIntervalOptions, meanInterval } from './comparison/mean-interval.ts';
export {
  type MeanSampleSize,
  type MeanSampleSizeOptions,
  meanSampleSize,
} from './comparison/mean-sample-size.ts';
export { type MeanTest, type MeanTestOptions, meanTest } from './comparison/mean-test.ts';
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
export type { Sample, SampleSummary } from './comparison/sample.ts';
export {
  type StandardDeviationTest,
  type StandardDeviationTestOptions,
  standardDeviationTest,
} from './comparison/standard-deviation-test.ts';
export type { SideVerdict, TestSide } from './comparison/test-side.ts';
export {
  type CountedSample,
  type TwoProportionsComparison,
  type TwoProportionsOptions,
  twoProportionsComparison,
} from './comparison/two-proportions-comparison.ts';
export {
  type DifferenceTest,
  type TwoSampleComparison,
  type TwoSampleComparisonOptions,
  twoSampleComparison,
  type VarianceRatioTest,
} from './comparison/two-sample-comparison.ts';
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
export {
  fitPowerTransformation,
  type PlainPower,
  type PowerTransformation,
  type PowerTransformationOptions,
} from './distribution-fit/fit-power-transformation.ts';
export type {
  Distribution,
  DistributionName,
  DistributionParameters,
  FittedDistribution,
} from './distribution-fit/fitted-distribution.ts';
export {
  type GoodnessOfFit,
  type GoodnessOfFitOptions,
  goodnessOfFit,
} from './distribution-fit/goodness-of-fit.ts';
export type { Physics } from './distribution-fit/physics.ts';
export {
  type PowerTransformationMethod,
  type PowerTransformOptions,
  powerTransform,
  powerTransformBack,
} from './distribution-fit/power-transform.ts';
export {
  type PlottingPosition,
  type ProbabilityPlot,
  type ProbabilityPlotOptions,
  type ProbabilityPlotPoint,
  probabilityPlot,
} from './distribution-fit/probability-plot.ts';
export {
  type DistributionCandidate,
  type DistributionRanking,
  type RankDistributionsOptions,
  rankDistributions,
} from './distribution-fit/rank-distributions.ts';
export { type ShapiroWilk, shapiroWilk } from './distribution-fit/shapiro-wilk.ts';
export {
  type OmnibusTest,
  type SkewnessAndKurtosis,
  skewnessAndKurtosis,
} from './distribution-fit/skewness-and-kurtosis.ts';
// errors
export {
  type Available,
  type Outcome,
  StatisticsError,
  type StatisticsErrorCode,
  type Unavailable,
} from './errors.ts';
export { type FirstPhaseOptions, firstPhase } from './first-phase/first-phase.ts';
// first-phase/
export {
  type FirstPhaseOfProportionsOptions,
  firstPhaseOfProportions,
} from './first-phase/first-phase-of-proportions.ts';
export type {
  BeyondTrialLimits,
  ExclusionReason,
  FirstPhase,
  FirstPhaseRound,
  TrialLimits,
} from './first-phase/trial-limits.ts';

// outliers/
export { type BoxPlotFences, boxPlotFences } from './outliers/box-plot-fences.ts';
export { type DixonTest, type DixonTestOptions, dixonTest } from './outliers/dixon-test.ts';
export {
  type DeviateStep,
  type GeneralizedDeviateTest,
  type GeneralizedDeviateTestOptions,
  generalizedDeviateTest,
} from './outliers/generalized-deviate-test.ts';
export { type GrubbsTest, type GrubbsTestOptions, grubbsTest } from './outliers/grubbs-test.ts';

// run-length/
export type { ChartScheme } from './run-length/chart-run-length.ts';
export { cusumDecisionInterval } from './run-length/cusum-decision-interval.ts';
export { type CusumRunLengthSettings, cusumRunLength } from './run-length/cusum-run-length.ts';
export { ewmaMultiple } from './run-length/ewma-multiple.ts';
export { type EwmaRunLengthSettings, ewmaRunLength } from './run-length/ewma-run-length.ts';
export {
  expectedFalseAlarms,
  type FalseAlarmBudget,
  type WatchedChart,
} from './run-length/expected-false-alarms.ts';
export type { RunLength, RunLengthOptions, RunLengthQuantile } from './run-length/run-length.ts';
export { runRulesMultiple } from './run-length/run-rules-multiple.ts';
export { type RunRulesRunLengthSettings, runRulesRunLength } from './run-length/run-rules-run-length.ts';
export { type ShewhartRunLength, shewhartRunLength } from './run-length/shewhart-run-length.ts';

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
export { type RobustStatistics, robustStatistics } from './samples/robust-statistics.ts';
export type { Subgroup, SubgroupStatistics } from './samples/subgroup.ts';
export { subgroupStatistics } from './samples/subgroup-statistics.ts';

// sampling-plan/
export {
  type DueSample,
  type DueSamplesInput,
  type DueState,
  dueSamples,
  type PlannedTimes,
} from './sampling-plan/due-samples.ts';
export {
  type EconomicDesign,
  economicDesign,
  type PracticableDesigns,
} from './sampling-plan/economic-design.ts';
export type { RunningHours, Stoppage } from './sampling-plan/running-hours.ts';
export { sampleSizeForDetection } from './sampling-plan/sample-size-for-detection.ts';
export {
  type SamplingCost,
  type SamplingCosts,
  type SamplingDesign,
  samplingCost,
} from './sampling-plan/sampling-cost.ts';
export { shiftWithinInterval } from './sampling-plan/shift-within-interval.ts';
export { type SamplingScheme, type TimeToSignal, timeToSignal } from './sampling-plan/time-to-signal.ts';
export {
  type DistributionFreeTolerance,
  type DistributionFreeToleranceOptions,
  distributionFreeTolerance,
} from './tolerance-interval/distribution-free-tolerance.ts';
// tolerance-interval/
export {
  type DistributionFreeToleranceInterval,
  type DistributionFreeToleranceIntervalOptions,
  distributionFreeToleranceInterval,
} from './tolerance-interval/distribution-free-tolerance-interval.ts';
export type { IntervalSide } from './tolerance-interval/mean-and-spread.ts';
export {
  type NormalToleranceFactor,
  type NormalToleranceFactorOptions,
  normalToleranceFactor,
} from './tolerance-interval/normal-tolerance-factor.ts';
export {
  type PredictionFactor,
  type PredictionFactorOptions,
  predictionFactor,
} from './tolerance-interval/prediction-factor.ts';
export {
  type PredictionInterval,
  type PredictionIntervalOptions,
  predictionInterval,
} from './tolerance-interval/prediction-interval.ts';
export {
  type ToleranceInterval,
  type ToleranceIntervalOptions,
  toleranceInterval,
} from './tolerance-interval/tolerance-interval.ts';
export {
  type ToleranceSampleSize,
  type ToleranceSampleSizeOptions,
  toleranceSampleSize,
} from './tolerance-interval/tolerance-sample-size.ts';

// variance-components/
export {
  type CoilVariation,
  type CoilVariationOptions,
  coilVariation,
} from './variance-components/coil-variation.ts';
export {
  type NestedAnalysisOfVariance,
  nestedAnalysisOfVariance,
} from './variance-components/nested-analysis-of-variance.ts';
export {
  type NestedLikelihoodComponents,
  nestedLikelihoodComponents,
} from './variance-components/nested-likelihood-components.ts';
export type { NestedLevels, NestedReadings } from './variance-components/nested-readings.ts';

// wear/
export {
  type HitsInterval,
  type WearCrossing,
  type WearCrossingOptions,
  wearCrossing,
} from './wear/wear-crossing.ts';
export {
  type SlopeHomogeneity,
  type WearCycle,
  type WearLine,
  type WearSample,
  wearLine,
} from './wear/wear-line.ts';

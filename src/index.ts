/** The public face of the statistics core: what is exported here is documented and stable, the rest is private. */

// containment/
export { type SuspectWindow, type SuspectWindowInput, suspectWindow } from './containment/suspect-window.ts';

// decision/
export {
  type QuestionKind,
  questionValue,
  type ValueExpectation,
  type ValueQuestion,
} from './decision/question-value.ts';
export { type SampleVerdict, type SampleVerdictInput, sampleVerdict } from './decision/sample-verdict.ts';
export { singleValueStandardDeviation } from './decision/single-value-standard-deviation.ts';

// sampling-plan/
export {
  type DueSample,
  type DueSamplesInput,
  type DueState,
  dueSamples,
} from './sampling-plan/due-samples.ts';
export type { RunningHours, Stoppage } from './sampling-plan/running-hours.ts';

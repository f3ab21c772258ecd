import { limitPassed } from '../../src/decision/limit-passed.ts';
import type { ValueExpectation } from '../../src/decision/question-value.ts';
import { questionValue } from '../../src/decision/question-value.ts';
import { subgroupStatistics } from '../../src/samples/subgroup-statistics.ts';
import type { CountedParts, Question, Reading, Specification } from '../schemas.ts';
import type { MeasuredValues } from '../store/store.ts';

/** Positions of values outside the specification that no open question doubts. */
export function surelyOutside({
  questions,
  outsideSpecification,
}: Pick<MeasuredValues, 'questions' | 'outsideSpecification'>): readonly number[] {
  const doubted = new Set(questions.map(({ position }) => position));
  return outsideSpecification.filter((position) => !doubted.has(position));
}

/** What follows from the values alone: statistics, questions still open, what lies outside the specification. */
export function measuredValues(
  given: { readonly readings?: readonly Reading[] | undefined; readonly count?: CountedParts | undefined },
  specification: Specification | null,
  expectation: ValueExpectation | null,
): MeasuredValues {
  if (given.readings === undefined) {
    return {
      readings: null,
      count: given.count!,
      size: 0,
      mean: null,
      range: null,
      standardDeviation: null,
      questions: [],
      outsideSpecification: [],
    };
  }
  const questions: Question[] = [];
  const outsideSpecification: number[] = [];
  given.readings.forEach(({ value, asked }, position) => {
    if (value === null) return;
    if (specification !== null && limitPassed(value, specification) !== null)
      outsideSpecification.push(position);
    // Whoever was asked at the station and kept the value has answered.
    if (expectation === null || asked?.decision === 'kept') return;
    const question = questionValue(value, expectation);
    if (question !== null) questions.push({ position, ...question });
  });
  const { size, mean, range, standardDeviation } = subgroupStatistics(
    given.readings.map(({ value }) => value),
  );
  return {
    readings: given.readings,
    count: null,
    size,
    mean,
    range,
    standardDeviation,
    questions,
    outsideSpecification,
  };
}

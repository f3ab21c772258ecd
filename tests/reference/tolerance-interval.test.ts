import { expect, test } from 'vitest';
import { readCases, runCases } from './run-cases.ts';
import {
  publishedToleranceIntervalsHandlers,
  toleranceIntervalsHandlers,
} from './tolerance-interval-cases.ts';

runCases('tolerance-intervals', toleranceIntervalsHandlers);
runCases('tolerance-intervals-published', publishedToleranceIntervalsHandlers, ({ id }) => id);

test.each([
  ['tolerance-intervals', 98],
  ['tolerance-intervals-published', 4],
])('%s still holds its %i cases', (topic, count) => {
  expect(readCases(topic)).toHaveLength(count);
});

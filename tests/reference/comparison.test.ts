import { expect, test } from 'vitest';
import { analysisOfVarianceHandlers } from './analysis-of-variance-cases.ts';
import { comparisonHandlers } from './comparison-cases.ts';
import { readCases, runCases } from './run-cases.ts';

runCases('analysis-of-variance', analysisOfVarianceHandlers, ({ id }) => id);
runCases('comparison', comparisonHandlers);

test.each([
  ['analysis-of-variance', 3],
  ['comparison', 32],
])('%s still holds its %i cases', (topic, count) => {
  expect(readCases(topic)).toHaveLength(count);
});

import { expect, test } from 'vitest';
import { multivariateHandlers, publishedMultivariateHandlers } from './multivariate-cases.ts';
import { readCases, runCases } from './run-cases.ts';

runCases('multivariate', multivariateHandlers);
runCases('control-charts-multivariate', publishedMultivariateHandlers, ({ id }) => id);

test.each([
  ['multivariate', 22],
  ['control-charts-multivariate', 2],
])('%s still holds its %i cases', (topic, count) => {
  expect(readCases(topic)).toHaveLength(count);
});

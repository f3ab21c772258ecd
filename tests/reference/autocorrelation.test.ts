import { expect, test } from 'vitest';
import { autocorrelationHandlers } from './autocorrelation-cases.ts';
import { readCases, runCases } from './run-cases.ts';

runCases('autocorrelation', autocorrelationHandlers);

test('autocorrelation still holds its 15 cases', () => {
  expect(readCases('autocorrelation')).toHaveLength(15);
});

import { expect, test } from 'vitest';
import { capabilityMoreHandlers } from './capability-more-cases.ts';
import { readCases, runCases } from './run-cases.ts';

runCases('capability-more', capabilityMoreHandlers);

test('capability-more still holds its 33 cases', () => {
  expect(readCases('capability-more')).toHaveLength(33);
});

import { expect, test } from 'vitest';
import {
  distributionFitChecksHandlers,
  nonNormalHandlers,
  normalityHandlers,
} from './distribution-fit-cases.ts';
import { readCases, runCases } from './run-cases.ts';

runCases('non-normal', nonNormalHandlers);
runCases(
  'normality',
  normalityHandlers,
  ({ id }) => /anderson-darling$|shapiro$|moments$/.exec(id)?.[0] ?? id,
);
runCases('distribution-fit-checks', distributionFitChecksHandlers);

test.each([
  ['non-normal', 69],
  ['normality', 54],
  ['distribution-fit-checks', 167],
])('%s still holds its %i cases', (topic, count) => {
  expect(readCases(topic)).toHaveLength(count);
});

import { expect, test } from 'vitest';
import { readCases, runCases } from './run-cases.ts';
import { smallShiftHandlers, timeWeightedHandlers } from './small-shifts-cases.ts';

runCases('small-shift-charts', smallShiftHandlers);
runCases('control-charts-time-weighted', timeWeightedHandlers, ({ id }) => id);

test.each([
  ['small-shift-charts', 51],
  ['control-charts-time-weighted', 3],
])('%s still holds its %i cases', (topic, count) => {
  expect(readCases(topic)).toHaveLength(count);
});

import { expect, test } from 'vitest';
import { readCases, runCases } from './run-cases.ts';
import { runLengthHandlers, runLengthsHandlers, samplingDesignHandlers } from './run-length-cases.ts';

runCases('run-length', runLengthHandlers, ({ id, inputs }) =>
  id in runLengthHandlers ? id : String(inputs.kind),
);
runCases('run-lengths', runLengthsHandlers, ({ id }) => id);
runCases('sampling-design', samplingDesignHandlers);

test.each([
  ['run-length', 258],
  ['run-lengths', 11],
  ['sampling-design', 63],
])('%s still holds its %i cases', (topic, count) => {
  expect(readCases(topic)).toHaveLength(count);
});

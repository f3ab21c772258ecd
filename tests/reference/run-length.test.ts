import { expect, test } from 'vitest';
import { readCases, runCases } from './run-cases.ts';
import {
  economicDesignHandlers,
  runLengthHandlers,
  runLengthsHandlers,
  samplingDesignHandlers,
} from './run-length-cases.ts';

runCases('run-length', runLengthHandlers, ({ id, inputs }) =>
  id in runLengthHandlers ? id : String(inputs.kind),
);
runCases('run-lengths', runLengthsHandlers, ({ id }) => id);
runCases('sampling-design', samplingDesignHandlers);
runCases('economic-design', economicDesignHandlers, ({ id }) => id);

test.each([
  ['run-length', 258],
  ['run-lengths', 11],
  ['sampling-design', 63],
  ['economic-design', 2],
])('%s still holds its %i cases', (topic, count) => {
  expect(readCases(topic)).toHaveLength(count);
});

import { expect, test } from 'vitest';
import {
  constantsHandlers,
  publishedChartsHandlers,
  publishedConstantsHandlers,
  runRulesHandlers,
  variablesChartsHandlers,
} from './chart-cases.ts';
import { readCases, runCases } from './run-cases.ts';

runCases('constants', constantsHandlers, () => 'constants');
runCases('control-chart-constants', publishedConstantsHandlers, () => 'published');
runCases('variables-charts', variablesChartsHandlers);
runCases('control-charts-variables', publishedChartsHandlers, ({ id }) => id);
runCases('run-rules', runRulesHandlers, () => 'run-rules');

test.each([
  ['constants', 75],
  ['control-chart-constants', 13],
  ['variables-charts', 57],
  ['control-charts-variables', 2],
  ['run-rules', 39],
])('%s still holds its %i cases', (topic, count) => {
  expect(readCases(topic)).toHaveLength(count);
});

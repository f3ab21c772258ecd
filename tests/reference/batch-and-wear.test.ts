import { expect, test } from 'vitest';
import {
  acceptanceChartsHandlers,
  groupChartsHandlers,
  toolWearHandlers,
  varianceComponentsHandlers,
} from './batch-and-wear-cases.ts';
import { readCases, runCases } from './run-cases.ts';

runCases('variance-components', varianceComponentsHandlers);
runCases('tool-wear', toolWearHandlers, () => 'trend');
runCases('group-charts', groupChartsHandlers);
runCases('acceptance-charts', acceptanceChartsHandlers);

test.each([
  ['variance-components', 15],
  ['tool-wear', 13],
  ['group-charts', 21],
  ['acceptance-charts', 12],
])('%s still holds its %i cases', (topic, count) => {
  expect(readCases(topic)).toHaveLength(count);
});

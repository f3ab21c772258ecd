import { expect, test } from 'vitest';
import { attributesHandlers, publishedAttributesHandlers } from './attributes-cases.ts';
import { readCases, runCases } from './run-cases.ts';

runCases('attributes-charts', attributesHandlers);
runCases('control-charts-attributes', publishedAttributesHandlers, ({ id }) => id);

test.each([
  ['attributes-charts', 36],
  ['control-charts-attributes', 3],
])('%s still holds its %i cases', (topic, count) => {
  expect(readCases(topic)).toHaveLength(count);
});

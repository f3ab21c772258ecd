import { expect, test } from 'vitest';
import { capabilityHandlers, processCapabilityHandlers, statisticalTestsHandlers } from './decision-cases.ts';
import { distributionsHandlers } from './distribution-cases.ts';
import { readCases, runCases } from './run-cases.ts';

runCases('capability', capabilityHandlers);
runCases('process-capability', processCapabilityHandlers, ({ id }) => id);
runCases('statistical-tests', statisticalTestsHandlers, ({ id }) => id);
runCases('distributions', distributionsHandlers);

test.each([
  ['capability', 50],
  ['process-capability', 6],
  ['statistical-tests', 8],
  ['distributions', 532],
])('%s still holds its %i cases', (topic, count) => {
  expect(readCases(topic)).toHaveLength(count);
});

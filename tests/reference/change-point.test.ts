import { describe, expect, test } from 'vitest';
import { changePointHandlers, simulatedStep } from './change-point-cases.ts';
import { differences, readCases, runCases } from './run-cases.ts';

runCases('change-point', changePointHandlers);

describe('reference cases: change-point-published', () => {
  // Half the runs of most figures of the file: chance may do half as much again to them.
  const runs = 20_000;
  const wider = 1.5;
  test.each(readCases('change-point-published').map((one) => [one.id, one] as const))(
    '%s',
    (_, one) => {
      const { meanEstimatedChangePoint, probabilities, expectedSignalTime } = one.tolerance as Record<
        string,
        number
      >;
      const percent = String((one.tolerance as Record<string, unknown>).standardDeviationOfEstimate);
      const deviation = one.expected.standardDeviationOfEstimate as number;
      const tolerance = {
        expectedSignalTime: expectedSignalTime!,
        meanEstimatedChangePoint: wider * meanEstimatedChangePoint!,
        // "5 %" or "10 %" in the file; rare long misses rule it.
        standardDeviationOfEstimate: wider * (Number.parseFloat(percent) / 100) * deviation,
        default: wider * probabilities!,
      };
      const actual = simulatedStep(one.inputs as Record<string, number>, runs, 1);
      expect(differences(actual, { ...one, tolerance })).toEqual([]);
    },
    20_000,
  );
});

test.each([
  ['change-point', 38],
  ['change-point-published', 4],
])('%s still holds its %i cases', (topic, count) => {
  expect(readCases(topic)).toHaveLength(count);
});

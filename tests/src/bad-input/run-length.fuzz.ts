import fc from 'fast-check';
import { runRuleNames } from '../../../src/index.ts';
import { anyNumber, type FuzzedFunctions, mostly } from './hostile.ts';

const rules = mostly<string[]>(
  fc.subarray([...runRuleNames.filter((name) => name !== 'fourteen-alternating')]),
  fc.constantFrom([...runRuleNames], ['no rule'], [runRuleNames[0], runRuleNames[0]]),
);
const some = (record: Record<string, fc.Arbitrary<unknown>>, requiredKeys: string[] = []) =>
  fc.record(record, { requiredKeys });
const process = some({
  shift: mostly(fc.constantFrom(-1, 0, 0.5, 3), anyNumber),
  standardDeviationRatio: mostly(fc.constantFrom(0.5, 1, 2), anyNumber),
  start: mostly<string>(fc.constantFrom('zero-state', 'steady-state'), fc.constant('')),
  probabilities: mostly<readonly number[]>(
    fc.constantFrom([0.5], [], [0.001, 0.999999999]),
    fc.array(anyNumber, { maxLength: 3 }),
  ),
});
const multiple = mostly(fc.constantFrom(0.1, 1, 2.5, 3, 10), anyNumber);
const ruleSettings = {
  rules,
  oneSideRunLength: mostly(fc.constantFrom(7, 8, 9), anyNumber),
  outsideMustBeOnBothSides: fc.boolean(),
};
const smoothing = mostly(fc.constantFrom(0.1, 0.3, 1), anyNumber);
const limits = mostly<string>(fc.constantFrom('time-varying', 'asymptotic'), fc.constant('other'));
const referenceValue = mostly(fc.constantFrom(0.1, 0.5, 2, 10), anyNumber);
const headStart = mostly(fc.constantFrom(0, 0.5, 1), anyNumber);
const sides = mostly<string>(fc.constantFrom('both', 'upper', 'lower'), fc.constant('none'));
const cusum = {
  referenceValue,
  decisionInterval: mostly(fc.constantFrom(0.1, 4, 12), anyNumber),
  headStart,
  sides,
};
const wanted = mostly(fc.constantFrom(2, 100, 370, 1e6), anyNumber);
const scheme = fc.oneof(
  some({ kind: fc.constant('run-rules'), ...ruleSettings, multiple }, ['kind', 'rules']),
  some({ kind: fc.constant('ewma'), smoothing, multiple, limits }, ['kind']),
  some({ kind: fc.constant('cusum'), ...cusum }, ['kind']),
  fc.constant({ kind: 'none' }),
);
const positive = mostly(fc.constantFrom(0.5, 1, 100), anyNumber);

const money = mostly(fc.constantFrom(0, 1, 50), anyNumber);
const costs = fc.record({
  shift: mostly(fc.constantFrom(-1, 0, 2), anyNumber),
  shiftsPerHour: mostly(fc.constantFrom(0.01, 1), anyNumber),
  costPerHourInControl: money,
  costPerHourShifted: money,
  costPerFalseAlarm: money,
  costPerRepair: money,
  costPerSample: money,
  costPerPart: money,
  hoursPerPart: money,
  hoursPerFalseAlarm: money,
  hoursToFind: money,
  hoursToRepair: money,
  runsDuringSearch: fc.boolean(),
  runsDuringRepair: fc.boolean(),
});

export const fuzzed: FuzzedFunctions = {
  shewhartRunLength: fc.tuple(some({ multiple }), process),
  runRulesRunLength: fc.tuple(some({ ...ruleSettings, multiple }, ['rules']), process),
  ewmaRunLength: fc.tuple(some({ smoothing, multiple, limits }), process),
  cusumRunLength: fc.tuple(some(cusum), process),
  // Few rules: the search walks the chart several times.
  runRulesMultiple: fc.tuple(
    wanted,
    some({ ...ruleSettings, rules: mostly<string[]>(fc.subarray(runRuleNames.slice(0, 2)), rules) }, [
      'rules',
    ]),
  ),
  ewmaMultiple: fc.tuple(wanted, some({ smoothing: mostly(fc.constantFrom(0.3, 1), anyNumber), limits })),
  cusumDecisionInterval: fc.tuple(
    wanted,
    some({ referenceValue: mostly(fc.constantFrom(0.5, 2), anyNumber), headStart, sides }),
  ),
  expectedFalseAlarms: fc.tuple(
    fc.array(
      some({ scheme, samplesPerHour: positive, hoursPerWeek: positive, streams: positive }, [
        'scheme',
        'samplesPerHour',
        'hoursPerWeek',
      ]),
      { maxLength: 3 },
    ),
  ),
  timeToSignal: fc.tuple(
    some(
      {
        shift: mostly(fc.constantFrom(-1, 0, 0.5, 3), anyNumber),
        sampleSize: mostly(fc.constantFrom(1, 5, 10_000), anyNumber),
        intervalHours: positive,
        partsPerHour: positive,
        multiple,
        delayHours: mostly(fc.constantFrom(0, 2), anyNumber),
        withinSamples: mostly<readonly number[]>(
          fc.constantFrom([1, 1e9], []),
          fc.array(anyNumber, { maxLength: 3 }),
        ),
      },
      ['shift', 'sampleSize', 'intervalHours', 'partsPerHour'],
    ),
  ),
  sampleSizeForDetection: fc.tuple(
    mostly(fc.constantFrom(-1, 0.001, 0.5, 3), anyNumber),
    some({ probability: mostly(fc.constantFrom(0.001, 0.5, 0.99), anyNumber), multiple }, ['probability']),
  ),
  samplingCost: fc.tuple(
    fc.record({
      sampleSize: mostly(fc.constantFrom(1, 5), anyNumber),
      intervalHours: positive,
      multiple,
    }),
    costs,
  ),
  economicDesign: fc.tuple(
    costs,
    fc.record({
      sampleSizes: mostly<readonly number[]>(fc.constantFrom([1, 4]), fc.array(anyNumber, { maxLength: 3 })),
      intervalsHours: mostly<readonly number[]>(
        fc.constantFrom([0.5, 2]),
        fc.array(anyNumber, { maxLength: 3 }),
      ),
      multiples: mostly<readonly number[]>(fc.constantFrom([3, 2]), fc.array(anyNumber, { maxLength: 3 })),
    }),
  ),
  shiftWithinInterval: fc.tuple(positive, fc.record({ shiftsPerHour: positive })),
};

import fc from 'fast-check';
import {
  anyNumber,
  anyNumbers,
  everydayNumber,
  everydayNumbers,
  type FuzzedFunctions,
  mostly,
} from './hostile.ts';

const positive = mostly(fc.constantFrom(0.2, 1, 3), anyNumber);
const base = {
  target: mostly(everydayNumber, anyNumber),
  withinSubgroupStandardDeviation: positive,
};
const size = mostly(fc.constantFrom(1, 4), anyNumber);
const values = fc.oneof(
  everydayNumbers,
  anyNumbers,
  fc.array(fc.option(mostly(everydayNumber, anyNumber)), { maxLength: 20 }),
);
const value = fc.option(mostly(everydayNumber, anyNumber));
const column = fc.oneof(everydayNumbers, anyNumbers).map((list) => Float64Array.from(list));
const sizes = fc.oneof(fc.array(fc.constantFrom(1, 2, 5), { maxLength: 40 }), anyNumbers);
const some = <T>(record: Record<string, fc.Arbitrary<unknown>>, needed: readonly string[]) =>
  fc.record(record, { requiredKeys: needed as string[] }) as fc.Arbitrary<T>;
const needed = ['target', 'withinSubgroupStandardDeviation'];

const ewmaSettings = {
  ...base,
  size,
  smoothing: mostly(fc.constantFrom(0.1, 0.2, 1), anyNumber),
  multiple: mostly(fc.constant(3), anyNumber),
  limits: mostly<string>(fc.constantFrom('time-varying', 'asymptotic'), fc.constant('')),
  start: mostly(everydayNumber, anyNumber),
};
const cusumSettings = {
  ...base,
  size,
  referenceValue: mostly(fc.constantFrom(0, 0.5), anyNumber),
  decisionInterval: mostly(fc.constantFrom(4, 5), anyNumber),
  headStart: mostly(fc.constantFrom(0, 0.5), anyNumber),
  sides: mostly<string>(fc.constantFrom('both', 'upper', 'lower'), fc.constant('no side')),
};
const movingSettings = {
  ...base,
  size,
  span: mostly(fc.constantFrom(1, 3, 5), anyNumber),
  multiple: mostly(fc.constant(3), anyNumber),
};
const sum = fc.record({
  value: mostly(fc.constantFrom(0, 1.5), anyNumber),
  counter: mostly(fc.constantFrom(0, 2), anyNumber),
  since: mostly(fc.constantFrom(0, 3), anyNumber),
});
const index = mostly(fc.constantFrom(0, 7), anyNumber);
const ewmaColumnsOf = (length: number) => ({
  values: new Float64Array(length),
  lowerControlLimits: new Float64Array(length),
  upperControlLimits: new Float64Array(length),
  beyondLimits: new Uint8Array(length),
});
const given = <T>(columnsOf: (length: number) => T) =>
  mostly(fc.constant(undefined), fc.nat({ max: 40 }).map(columnsOf));

export const fuzzed: FuzzedFunctions = {
  ewmaChart: fc.tuple(values, some({ ...ewmaSettings, sizes }, needed)),
  ewmaStart: fc.tuple(some(ewmaSettings, needed)),
  ewmaNext: fc.tuple(
    fc.record({
      index,
      value: mostly(everydayNumber, anyNumber),
      varianceRatio: mostly(fc.constant(0.1), anyNumber),
    }),
    value,
    some(ewmaSettings, needed),
  ),
  ewmaColumns: fc.tuple(column, some({ ...ewmaSettings, sizes }, needed), given(ewmaColumnsOf)),
  cusumChart: fc.tuple(values, some(cusumSettings, needed)),
  cusumStart: fc.tuple(some(cusumSettings, needed)),
  cusumNext: fc.tuple(fc.record({ index, upper: sum, lower: sum }), value, some(cusumSettings, needed)),
  cusumColumns: fc.tuple(
    column,
    some(cusumSettings, needed),
    given((length) => ({
      upper: new Float64Array(length),
      lower: new Float64Array(length),
      beyondLimits: new Uint8Array(length),
    })),
  ),
  movingAverageChart: fc.tuple(values, some({ ...movingSettings, sizes }, needed)),
  movingAverageStart: fc.constant([]),
  movingAverageNext: fc.tuple(
    fc.record({
      index,
      values: mostly(fc.array(everydayNumber, { maxLength: 3 }), anyNumbers),
      sizes: mostly(fc.array(fc.constant(2), { maxLength: 3 }), anyNumbers),
    }),
    value,
    some(movingSettings, needed),
  ),
  movingAverageColumns: fc.tuple(column, some({ ...movingSettings, sizes }, needed), given(ewmaColumnsOf)),
};

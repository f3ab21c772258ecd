/** Every public function with hostile arguments: a typed error or a finite answer, never NaN, never a hang. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import * as core from '../../../src/index.ts';
import { complaint, type FuzzedFunctions } from './hostile.ts';

const topics = import.meta.glob<{ fuzzed: FuzzedFunctions }>('./*.fuzz.ts', { eager: true });
const fuzzed: FuzzedFunctions = Object.assign({}, ...Object.values(topics).map((topic) => topic.fuzzed));
const functions = Object.entries(core).filter(
  ([name, value]) => typeof value === 'function' && name !== 'StatisticsError',
) as [string, (...given: readonly unknown[]) => unknown][];
const runs = Number(process.env.FUZZ_RUNS ?? 300);

describe('bad input', () => {
  test.each(functions)('%s refuses in words or answers in numbers', (name, call) => {
    const given = fuzzed[name];
    expect(given, `${name} has no hostile arguments in tests/src/bad-input/*.fuzz.ts`).toBeDefined();
    fc.assert(
      fc.property(given!, (values) => {
        const frozen = structuredClone(values);
        expect(complaint(call, values)).toBeNull();
        // Data that was given is never written to; columns to be filled are left out of the comparison.
        if (!name.endsWith('Columns')) expect(values).toEqual(frozen);
      }),
      { numRuns: runs },
    );
  });

  test('no arguments are kept for a function that is gone', () => {
    const names = new Set(functions.map(([name]) => name));
    expect(Object.keys(fuzzed).filter((name) => !names.has(name))).toEqual([]);
  });
});

import { expect, test } from 'vitest';
import { readCases, runCases } from './run-cases.ts';
import { shortRunHandlers } from './short-run-cases.ts';

runCases('robust-and-short-run', shortRunHandlers);

test('robust-and-short-run still holds its 78 cases', () => {
  expect(readCases('robust-and-short-run')).toHaveLength(78);
});

/**
 * Stands in for vitest where mutants are tested: the same describe, test and expect, but the tests are only collected,
 * so that one process can run any of them again and again without starting anything anew.
 */
import { format } from 'node:util';
import {
  chai,
  customMatchers,
  GLOBAL_EXPECT,
  JestAsymmetricMatchers,
  JestChaiExpect,
  JestExtend,
  setState,
} from '@vitest/expect';

export interface CollectedTest {
  readonly id: string;
  readonly run: () => void;
}

chai.use(JestExtend);
chai.use(JestChaiExpect);
chai.use(JestAsymmetricMatchers);
export const expect = chai.expect;
Object.assign(globalThis, { [GLOBAL_EXPECT]: expect });
setState({ assertionCalls: 0, isExpectingAssertions: false }, expect as never);
(expect as unknown as { extend: (to: unknown, matchers: unknown) => void }).extend(expect, customMatchers);

type Body = (...row: unknown[]) => void;

const collected: CollectedTest[] = [];
let titles: readonly string[] = [];

export function describe(title: string, body: Body): void {
  const outside = titles;
  titles = [...outside, title];
  body();
  titles = outside;
}

export function test(title: string, body: Body): void {
  // The number makes the name the only one of its kind.
  collected.push({ id: `${[...titles, title].join(' > ')} (${collected.length + 1})`, run: () => body() });
}

function each(register: (title: string, body: Body) => void) {
  return (rows: readonly unknown[]) => (title: string, body: Body) => {
    for (const row of rows) {
      const values = Array.isArray(row) ? row : [row];
      register(title.includes('%') ? format(title, ...values) : title, () => body(...values));
    }
  };
}
describe.each = each(describe);
test.each = each(test);
export const it = Object.assign((title: string, body: Body) => test(title, body), { each: test.each });

/** In the tests of the core this only prints tables. */
export function afterAll(): void {}

/** The tests of one file, under its name. */
export async function collect(file: string, load: () => Promise<unknown>): Promise<void> {
  titles = [file];
  await load();
}

export function collectedTests(): readonly CollectedTest[] {
  return collected;
}

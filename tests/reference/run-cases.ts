/**
 * The one runner of reference cases. A data file holds cases: inputs, expected, tolerance; a handler computes what
 * a case expects, under the same names. Every case of a file is run or left out by name with a reason; a case
 * without a handler fails.
 */
import { readFileSync } from 'node:fs';
import { afterAll, describe, expect, test } from 'vitest';

/** Computes what a case expects, from its inputs, under the names that the case uses. */
// biome-ignore lint/suspicious/noExplicitAny: cases are data of many shapes.
type CaseHandler = (inputs: any, expected: any) => unknown;
export type CaseHandlers = Readonly<Record<string, CaseHandler | { readonly leftOut: string }>>;

/** A tolerance in words is judged by the handler, which answers with the expected figure itself where it is met. */
type Tolerances = Readonly<Record<string, number | string | null>>;

export interface ReferenceCase {
  readonly id: string;
  readonly inputs: Readonly<Record<string, unknown>>;
  readonly expected: Readonly<Record<string, unknown>>;
  /**
   * A number is relative, in published cases absolute; an object holds absolute tolerances by field or by group of
   * fields, `default` for the rest, and `relative`.
   */
  readonly tolerance: number | Tolerances;
  /** How a published figure came here; computed cases have none. */
  readonly provenance?: string;
  readonly absoluteTolerance?: number;
  /** Relative, by dotted path or field name; null: for information only. */
  readonly toleranceByField?: Tolerances;
}

export function readCases(topic: string): readonly ReferenceCase[] {
  return JSON.parse(readFileSync(new URL(`./${topic}.json`, import.meta.url), 'utf8')).cases;
}

/**
 * Registers one test a case of `<topic>.json`, and prints how many ran.
 *
 * @param keyOf  the handler of a case, by default its inputs.kind.
 */
export function runCases(
  topic: string,
  handlers: CaseHandlers,
  keyOf: (referenceCase: ReferenceCase) => string = ({ inputs }) => String(inputs.kind),
): void {
  const cases = readCases(topic);
  let passed = 0;
  const leftOut = new Map<string, number>();
  describe(`reference cases: ${topic}`, () => {
    for (const referenceCase of cases) {
      const handler = handlers[keyOf(referenceCase)];
      if (handler !== undefined && typeof handler !== 'function') {
        leftOut.set(handler.leftOut, (leftOut.get(handler.leftOut) ?? 0) + 1);
        continue;
      }
      test(referenceCase.id, () => {
        if (handler === undefined) throw new Error(`No handler for cases of kind ${keyOf(referenceCase)}.`);
        const actual = handler(referenceCase.inputs, referenceCase.expected);
        expect(differences(actual, referenceCase)).toEqual([]);
        passed++;
      });
    }
    test('there are cases', () => expect(cases.length).toBeGreaterThan(0));
    afterAll(() => {
      const reasons = [...leftOut].map(([reason, count]) => `; ${count} left out: ${reason}`).join('');
      const count = cases.length - [...leftOut.values()].reduce((sum, one) => sum + one, 0);
      process.stdout.write(`reference cases: ${topic} ${passed} of ${count}${reasons}\n`);
    });
  });
}

/** Every expected field that is missing or too far off, one line each. */
export function differences(actual: unknown, referenceCase: ReferenceCase): string[] {
  const found: string[] = [];
  const decimals = referenceCase.expected.decimalStrings === true;
  const { decimalStrings: _, ...expected } = referenceCase.expected;
  compare(actual, expected, [], (path, value, wanted) => {
    const number = decimals && typeof wanted === 'string' ? Number(wanted) : wanted;
    const verdict = compareLeaf(value, number, path, referenceCase);
    if (verdict !== null) found.push(`${path.join('.')}: ${verdict}`);
  });
  return found;
}

function compare(
  actual: unknown,
  expected: unknown,
  path: readonly string[],
  leaf: (path: readonly string[], actual: unknown, expected: unknown) => void,
): void {
  if (typeof expected !== 'object' || expected === null) leaf(path, actual, expected);
  else if (typeof actual !== 'object' || actual === null) leaf(path, actual, JSON.stringify(expected));
  else if (Array.isArray(expected) && (!Array.isArray(actual) || actual.length !== expected.length))
    leaf(path, JSON.stringify(actual), JSON.stringify(expected));
  else
    for (const [key, value] of Object.entries(expected))
      compare((actual as Record<string, unknown>)[key], value, [...path, key], leaf);
}

function compareLeaf(
  actual: unknown,
  expected: unknown,
  path: readonly string[],
  referenceCase: ReferenceCase,
): string | null {
  const wanted = expected === 'Infinity' ? Infinity : expected === '-Infinity' ? -Infinity : expected;
  if (typeof wanted === 'number' && Number.isFinite(wanted)) {
    const allowed = allowance(wanted, path, referenceCase);
    if (allowed === null) return null;
    if (typeof actual === 'number' && Math.abs(actual - wanted) <= allowed) return null;
    return `got ${actual}, expected ${wanted} within ${allowed}`;
  }
  return Object.is(actual, wanted) ? null : `got ${String(actual)}, expected ${String(wanted)}`;
}

/** How far a number may be off; null where the field is for information only. */
function allowance(wanted: number, path: readonly string[], referenceCase: ReferenceCase): number | null {
  const { tolerance, toleranceByField, absoluteTolerance = 1e-12 } = referenceCase;
  const named = (tolerances: Tolerances): number | null | undefined => {
    for (let length = path.length; length > 0; length--)
      for (const name of [path.slice(0, length).join('.'), path[length - 1]!])
        if (name in tolerances) {
          const own = tolerances[name]!;
          return typeof own === 'string' ? 0 : own;
        }
    return undefined;
  };
  if (typeof tolerance === 'number') {
    const own = toleranceByField === undefined ? undefined : named(toleranceByField);
    if (own === null) return null;
    if (referenceCase.provenance !== undefined) return tolerance;
    return Math.max((own ?? tolerance) * Math.abs(wanted), absoluteTolerance);
  }
  const own = named(tolerance);
  if (own !== undefined) return own;
  const isLimit = /ControlLimit$|^centerLine$/.test(path.at(-1) ?? '');
  if (isLimit && typeof tolerance.limits === 'number') return tolerance.limits;
  if (typeof tolerance.default === 'number') return tolerance.default;
  return Math.max(Number(tolerance.relative ?? 0) * Math.abs(wanted), 1e-12 * Math.max(1, Math.abs(wanted)));
}

import { describe, expect, test } from 'vitest';
import { variablesChartsHandlers } from './chart-cases.ts';
import { differences, type ReferenceCase, readCases } from './run-cases.ts';

const computed: ReferenceCase = {
  id: 'made up here',
  inputs: {},
  expected: { a: 100, nested: { b: [1, null], name: 'x' }, infinite: 'Infinity' },
  tolerance: 1e-6,
  toleranceByField: { 'nested.b': 1e-2 },
};
const right = { a: 100, nested: { b: [1, null], name: 'x' }, infinite: Infinity };
const published: ReferenceCase = {
  id: 'made up here',
  provenance: 'computed',
  inputs: {},
  expected: { mean: 50, chart: { upperControlLimit: 60 } },
  tolerance: { mean: 0.1, limits: 0.5 },
};

describe('the runner of reference cases', () => {
  test('accepts what lies within the tolerance of its field', () => {
    expect(differences(right, computed)).toEqual([]);
    expect(
      differences({ ...right, a: 100.00009, nested: { b: [1.009, null], name: 'x' } }, computed),
    ).toEqual([]);
    expect(differences({ mean: 50.09, chart: { upperControlLimit: 60.4 } }, published)).toEqual([]);
    expect(differences({ a: 2.4 }, { ...published, expected: { a: 2 }, tolerance: 0.5 })).toEqual([]);
  });

  test.each<[string, unknown, ReferenceCase, string]>([
    ['a number too far off', { ...right, a: 100.0002 }, computed, 'a'],
    [
      'a number where nothing should be',
      { ...right, nested: { b: [1, 0], name: 'x' } },
      computed,
      'nested.b.1',
    ],
    ['nothing where a number should be', { ...right, a: null }, computed, 'a'],
    ['a list too long', { ...right, nested: { b: [1, null, 2], name: 'x' } }, computed, 'nested.b'],
    ['a missing group', { a: 100, infinite: Infinity }, computed, 'nested'],
    ['another word', { ...right, nested: { b: [1, null], name: 'y' } }, computed, 'nested.name'],
    ['not a number', { ...right, a: Number.NaN }, computed, 'a'],
    [
      'a published limit too far off',
      { mean: 50, chart: { upperControlLimit: 60.6 } },
      published,
      'chart.upperControlLimit',
    ],
  ])('finds %s', (_, actual, referenceCase, field) => {
    const found = differences(actual, referenceCase);
    expect(found).toHaveLength(1);
    expect(found[0]).toMatch(new RegExp(`^${field.replaceAll('.', '\\.')}: `));
  });

  test('finds a changed center line in every stored chart case', () => {
    const cases = readCases('variables-charts');
    for (const one of cases) {
      const handler = variablesChartsHandlers[String(one.inputs.kind)];
      if (typeof handler !== 'function') throw new Error(`No handler for ${one.id}.`);
      const wrong = structuredClone(one) as { expected: Record<string, { center: unknown }> };
      const chart = Object.keys(one.expected).find((name) => /^(mean|individuals)Chart$/.test(name))!;
      wrong.expected[chart]!.center = 1e9;
      const found = differences(handler(one.inputs, one.expected), wrong as unknown as ReferenceCase);
      expect(found.length, one.id).toBeGreaterThan(0);
    }
    expect(cases.length).toBeGreaterThan(0);
  });
});

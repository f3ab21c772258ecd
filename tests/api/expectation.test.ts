/** What the drawing alone makes plausible, before a process is known. */
import { describe, expect, it } from 'vitest';
import { expectationOf } from '../../api/monitoring/expectation.ts';
import type { StreamContext } from '../../api/monitoring/stream-context.ts';
import type { Characteristic, Specification } from '../../api/schemas.ts';
import { questionValue } from '../../src/decision/question-value.ts';

type Drawing = Pick<Specification, 'nominal' | 'lowerSpecificationLimit' | 'upperSpecificationLimit'>;
const atMost = (upper: number, nominal: number | null = null): Drawing => ({
  nominal,
  lowerSpecificationLimit: null,
  upperSpecificationLimit: upper,
});
const between = (lower: number, upper: number, nominal: number | null): Drawing => ({
  nominal,
  lowerSpecificationLimit: lower,
  upperSpecificationLimit: upper,
});

function asked(value: number, drawing: Drawing, bounds: Partial<Characteristic> = { lowerNaturalBound: 0 }) {
  const characteristic = {
    kind: 'variable',
    unit: 'mm',
    decimals: 3,
    lowerNaturalBound: null,
    upperNaturalBound: null,
    ...bounds,
  };
  const context = { characteristic, specification: drawing, otherModels: [], plan: null };
  const expectation = expectationOf(context as unknown as StreamContext, null);
  return expectation === null ? 'nothing is known' : questionValue(value, expectation);
}

describe('before limits, a value is held against the drawing', () => {
  it.each([
    ['that gives one limit', atMost(0.25)],
    ['that calls the bound itself nominal', atMost(0.25, 0)],
    ['that gives a lower limit at the bound', between(0, 0.25, null)],
  ])('%s: a bead of 0.230 typed as 2.30', (_, drawing) => {
    expect(asked(2.3, drawing)).toMatchObject({ kind: 'lost-decimal', suggestion: 0.23 });
    for (const good of [0, 0.02, 0.24, 0.26, 0.3]) expect(asked(good, drawing)).toBeNull();
  });

  it('takes a value for a real part as far out as a broken clamp throws it', () => {
    // Radial runout of at most 0.80: two to three times as much is a bad wheel, not a slip.
    for (const bad of [0.9, 1.6, 2.4]) expect(asked(bad, atMost(0.8))).toBeNull();
    expect(asked(3.2, atMost(0.8))).toMatchObject({ kind: 'far-from-expected', suggestion: null });
    expect(asked(6.2, atMost(0.8))).toMatchObject({ kind: 'lost-decimal', suggestion: 0.62 });
  });

  it('takes the middle where two limits come without a nominal', () => {
    const given = asked(24.31, between(41.3, 43.3, 42.3), {});
    expect(given).toMatchObject({ kind: 'digit-swap', suggestion: 42.31 });
    expect(asked(24.31, between(41.3, 43.3, null), {})).toEqual(given);
  });

  it('asks nothing where a drawing leaves one side open: nobody knows what is usual there', () => {
    expect(asked(26.2, { ...between(2.45, 0, null), upperSpecificationLimit: null })).toBe(
      'nothing is known',
    );
    expect(asked(2.3, atMost(0.25), {})).toBe('nothing is known');
  });
});

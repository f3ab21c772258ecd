import { describe, expect, it } from 'vitest';
import {
  andersonDarling,
  type CapabilityVerdictInput,
  type CapabilityVerdictOptions,
  capability,
  capabilityVerdict,
} from '../../../src/index.ts';
import { seededNormal } from './random.ts';

const normal = seededNormal(11);
const subgroups = Array.from({ length: 25 }, () => Array.from({ length: 5 }, () => 10 + 0.1 * normal()));
const given = (halfTolerance: number, change: Partial<CapabilityVerdictInput> = {}, data = subgroups) => ({
  capability: capability(
    data,
    { lowerSpecificationLimit: 10 - halfTolerance, upperSpecificationLimit: 10 + halfTolerance },
    { method: 'pooled' },
  ),
  normality: andersonDarling(data.flat()),
  stability: { points: 25, signals: 0, expectedFalseSignals: 0.07 },
  ...change,
});
const verdict = (
  halfTolerance: number,
  change: Partial<CapabilityVerdictInput> = {},
  options?: CapabilityVerdictOptions,
) => capabilityVerdict(given(halfTolerance, change), options);

describe('capabilityVerdict', () => {
  it('lets the bound decide, not the estimate', () => {
    const capable = verdict(0.6);
    expect(capable.level).toBe('capable');
    expect(capable.index!.lowerBound).toBeGreaterThanOrEqual(1.33);
    const notCapable = verdict(0.25);
    expect(notCapable.level).toBe('not-capable');
    expect(notCapable.index!.upperBound).toBeLessThan(1.33);
    expect(notCapable.sentence).toMatch(
      /^Not capable: Cpk 0\.\d\d from 125 readings, with 95 % confidence at most 0\.\d\d \(Bissell; 1\.33 is required\)\.$/,
    );
    const notProven = verdict(0.45);
    expect(notProven.level).toBe('not-proven');
    expect(notProven.index!.estimate).toBeGreaterThan(1.33);
    expect(notProven.sentence).toMatch(
      /^Not proven: Cpk 1\.\d\d from 125 readings, with 95 % confidence each/,
    );
    expect(notProven.nextStep).toMatch(/about \d+ in all would prove it/);
  });

  it('turns exactly at the bound', () => {
    const { lowerBound, upperBound } = verdict(0.6).index!;
    expect(verdict(0.6, {}, { requiredIndex: lowerBound }).level).toBe('capable');
    expect(verdict(0.6, {}, { requiredIndex: lowerBound + 1e-9 }).level).toBe('not-proven');
    expect(verdict(0.6, {}, { requiredIndex: upperBound }).level).toBe('not-proven');
    expect(verdict(0.6, {}, { requiredIndex: upperBound + 1e-9 }).level).toBe('not-capable');
  });

  it('tells a centring problem from one of spread', () => {
    const offCentre = given(0.6);
    const moved = {
      ...offCentre,
      capability: capability(
        subgroups,
        { lowerSpecificationLimit: 9.85, upperSpecificationLimit: 11.2 },
        { method: 'pooled' },
      ),
    };
    expect(capabilityVerdict(moved)).toMatchObject({ level: 'not-capable' });
    expect(capabilityVerdict(moved).nextStep).toContain('Move the mean');
    expect(verdict(0.25).nextStep).toContain('Reduce the spread');
  });

  it('quotes no index of an unstable process, of too few readings or of values that are not normal', () => {
    const reasons = (result: ReturnType<typeof verdict>) => {
      expect(result).toMatchObject({ level: 'not-to-be-quoted', index: null });
      return result.reasons.map(({ reason }) => reason);
    };
    expect(
      reasons(verdict(0.6, { stability: { points: 60, signals: 5, expectedFalseSignals: 0.2 } })),
    ).toEqual(['unstable']);
    // Two signals on 576 points are what chance gives.
    expect(verdict(0.6, { stability: { points: 576, signals: 2, expectedFalseSignals: 1.56 } }).level).toBe(
      'capable',
    );
    expect(reasons(verdict(0.6, { stability: null }))).toEqual(['stability-unknown']);
    expect(reasons(verdict(0.6, { stability: { points: 4, signals: 0, expectedFalseSignals: 0 } }))).toEqual([
      'stability-unknown',
    ]);
    const few = subgroups.slice(0, 5);
    expect(reasons(capabilityVerdict(given(0.6, {}, few)))).toEqual(['too-few']);
    expect(capabilityVerdict(given(0.6, {}, few)).nextStep).toBe(
      'Collect more readings of the unchanged process.',
    );
    const skewed = subgroups.map((subgroup) => subgroup.map((value) => Math.exp(10 * (value - 10))));
    expect(reasons(capabilityVerdict(given(9.5, {}, skewed)))).toEqual(['not-normal']);
    expect(capabilityVerdict(given(9.5, {}, skewed)).nextStep).toMatch(/^Look at the distribution/);
    const constant = [
      [1, 1],
      [1, 1],
    ];
    const noIndex = capabilityVerdict(given(0.6, {}, constant));
    expect(reasons(noIndex)).toEqual(['no-index']);
    expect(noIndex.sentence).toContain('All readings are equal');
  });

  it('calls a process unstable for one point that chance cannot place', () => {
    const at = (farthestDeviation: number) =>
      verdict(0.6, { stability: { points: 60, signals: 1, expectedFalseSignals: 0.2, farthestDeviation } });
    // scipy 1.17.1: norm.isf((1 - 0.99 ** (1 / 60)) / 2) = 3.7636
    expect(at(3.763).level).toBe('capable');
    expect(at(3.764).reasons.map(({ reason }) => reason)).toEqual(['unstable']);
    expect(at(3.764).sentence).toContain('3.8 standard deviations');
  });

  it('neither trusts nor blames a chart that cannot judge', () => {
    for (const stability of [null, { points: 60, signals: 30, expectedFalseSignals: 0.2 }]) {
      const result = verdict(0.6, { stability, chartCannotJudge: 'The means move with each batch.' });
      expect(result).toMatchObject({ level: 'not-to-be-quoted', index: null });
      expect(result.reasons).toEqual([
        {
          reason: 'stability-not-judged',
          sentence: 'This chart cannot judge whether the process is stable. The means move with each batch.',
        },
      ]);
      expect(result.nextStep).toMatch(/^Judge the parts by the specification/);
    }
  });

  it('gives every reason at once', () => {
    const skewed = subgroups.map((subgroup) => subgroup.map((value) => Math.exp(10 * (value - 10))));
    const result = capabilityVerdict(
      given(9.5, { stability: { points: 25, signals: 9, expectedFalseSignals: 0.1 } }, skewed),
      { fewestReadings: 200 },
    );
    expect(result.reasons.map(({ reason }) => reason)).toEqual(['unstable', 'too-few', 'not-normal']);
    expect(result.sentence).toBe(
      `No index may be quoted. ${result.reasons.map(({ sentence }) => sentence).join(' ')}`,
    );
    expect(result.nextStep).toMatch(/^Find the cause of the signals/);
  });

  it('judges the performance index where asked', () => {
    const result = verdict(0.6, {}, { index: 'ppk' });
    expect(result.index!.standardDeviation).toBe('overall');
    expect(result.sentence).toContain('Ppk');
  });

  it('never shows a lower bound above itself', () => {
    const result = verdict(0.6);
    const shown = Number(/at least (\d+\.\d\d)/.exec(result.sentence)![1]);
    expect(shown).toBeLessThanOrEqual(result.index!.lowerBound + 1e-9);
    expect(shown).toBeGreaterThan(result.index!.lowerBound - 0.01);
  });

  it('says that more readings alone prove nothing below the requirement', () => {
    const { estimate } = verdict(0.6).index!;
    expect(verdict(0.6, {}, { requiredIndex: estimate + 0.01 }).nextStep).toContain(
      'More readings alone will not',
    );
  });

  it('refuses options that are no numbers', () => {
    expect(() => verdict(0.6, {}, { requiredIndex: Number.NaN })).toThrow(
      expect.objectContaining({ code: 'not-finite', argument: 'options.requiredIndex' }),
    );
    expect(() => verdict(0.6, { stability: { points: 25, signals: -1, expectedFalseSignals: 0 } })).toThrow(
      expect.objectContaining({ argument: 'input.stability.signals' }),
    );
  });
});

import { describe, expect, it } from 'vitest';
import { type CountComparison, sampleVerdict, singleValueStandardDeviation } from '../../../src/index.ts';

const quiet = {
  questions: [],
  signals: [],
  outsideSpecification: [],
  charted: true,
  hasLimits: true,
  raisesAlarms: true,
  remark: '',
  count: null,
};
const signals = [{ sentence: 'The mean lies above the upper control limit.' }];
const questions = [{ position: 2, sentence: 'Did you mean 955.12 mm?' }];

describe('sampleVerdict', () => {
  it('lets a quiet sample go on', () => {
    expect(sampleVerdict(quiet)).toEqual({
      level: 'fine',
      judged: true,
      sentence: 'Go on: no value is outside the specification and the control chart shows no change.',
    });
  });

  it('says that no control limits are frozen yet', () => {
    const verdict = sampleVerdict({ ...quiet, hasLimits: false });
    expect(verdict.level).toBe('fine');
    expect(verdict.judged).toBe(false);
    expect(verdict.sentence).toContain('no control limits are frozen yet');
    const uncharted = sampleVerdict({ ...quiet, hasLimits: false, charted: false });
    expect(uncharted.judged).toBe(false);
    expect(uncharted.sentence).toContain('No control chart');
  });

  it('keeps product and process apart', () => {
    const changedAndGood = sampleVerdict({ ...quiet, signals });
    expect(changedAndGood.level).toBe('call');
    expect(changedAndGood.sentence).toContain('within the specification');
    expect(sampleVerdict({ ...quiet, outsideSpecification: [3, 0, 1, 3] }).sentence).toContain(
      'pieces 1, 2 and 4 are outside the specification',
    );
    const unchangedAndBad = sampleVerdict({ ...quiet, outsideSpecification: [0, 3] });
    expect(unchangedAndBad.level).toBe('call');
    expect(unchangedAndBad.sentence).toContain('pieces 1 and 4 are outside the specification');
    // Both questions stay apart, and the step "call the authorised setter" of a reaction plan can stand beside it.
    expect(unchangedAndBad.sentence).toContain(
      'the control chart shows no change of the process. Sort the parts',
    );
    expect(unchangedAndBad.sentence).toContain('for the supervisor and the authorised setter');
    const changedAndBad = sampleVerdict({ ...quiet, signals, outsideSpecification: [1] });
    expect(changedAndBad.sentence).toContain(
      'piece 2 is outside the specification and the process has changed',
    );
    expect(changedAndBad.sentence).toContain('the mean lies above');
    const unknownAndBad = sampleVerdict({ ...quiet, hasLimits: false, outsideSpecification: [1] });
    expect(unknownAndBad.level).toBe('call');
    expect(unknownAndBad.sentence).not.toContain('setter');
  });

  it('has a value in doubt measured again before a signal calls', () => {
    const verdict = sampleVerdict({ ...quiet, questions, signals, outsideSpecification: [2] });
    expect(verdict.level).toBe('measure-again');
    expect(verdict.sentence).toBe(
      'Measure piece 3 again and keep it apart until then: did you mean 955.12 mm?',
    );
  });

  it('speaks of one piece and of several', () => {
    const two = [...questions, { position: 0, sentence: 'Is it really 9 mm?' }];
    const sentence = (outsideSpecification: number[]) =>
      sampleVerdict({ ...quiet, questions: two, outsideSpecification }).sentence;
    expect(sentence([0, 2])).toContain('Measure pieces 1 and 3 again and keep them apart until then: ');
    expect(sentence([0])).toContain('Measure pieces 1 and 3 again and keep piece 1 apart until then: ');
    expect(sentence([])).toContain('Measure pieces 1 and 3 again: ');
  });

  it('has nonconforming parts of a count set apart, and calls where they are far more than before', () => {
    const verdict = (nonconforming: number, comparison: CountComparison | null) =>
      sampleVerdict({
        ...quiet,
        charted: false,
        hasLimits: false,
        count: { inspected: 310, nonconforming, comparison },
      });
    const usual = { samples: 25, share: 0.0031, probability: 0.24, farAbove: false };
    expect(verdict(200, { ...usual, probability: 0, farAbove: true })).toEqual({
      level: 'call',
      judged: false,
      sentence:
        'Call: set the 200 nonconforming parts apart and follow the reaction plan. 200 of 310. Far above the 0.31 % of the 25 samples before.',
    });
    expect(verdict(1, usual)).toEqual({
      level: 'fine',
      judged: false,
      sentence:
        'Set the nonconforming part apart and follow the reaction plan. 1 of 310. Not far above the 0.31 % of the 25 samples before. No control chart watches this count.',
    });
    expect(verdict(2, null).sentence).toContain('Too few samples before this one to compare with.');
    expect(verdict(0, usual)).toEqual({
      level: 'fine',
      judged: false,
      sentence: 'Go on: no part of 310 is nonconforming. No control chart watches this count.',
    });
  });

  it('calls for a value outside the specification that nobody doubts', () => {
    const verdict = sampleVerdict({ ...quiet, questions, outsideSpecification: [0, 2] });
    expect(verdict.level).toBe('call');
    expect(verdict.sentence).toContain('piece 1 is outside');
    expect(verdict.sentence).toContain('Measure piece 3 again too');
  });

  it('says why a drawn signal calls nobody', () => {
    const verdict = sampleVerdict({
      ...quiet,
      signals,
      raisesAlarms: false,
      remark: 'Die wear trends by itself.',
    });
    expect(verdict.level).toBe('fine');
    expect(verdict.sentence).toContain('calls nobody here. Die wear trends by itself. ');
    const unended = sampleVerdict({ ...quiet, signals, raisesAlarms: false, remark: ' Die wear  ' });
    expect(unended.sentence).toContain('calls nobody here. Die wear. The mean lies above');
  });
});

describe('singleValueStandardDeviation', () => {
  const standard = { mean: 2.3, withinSubgroupStandardDeviation: 0.01, meanStandardDeviation: null };
  it('adds what the means move by themselves', () => {
    expect(singleValueStandardDeviation(standard, 3)).toBe(0.01);
    // Between-coil standard deviation 0.020 and 0.010 inside: means of 3 vary by √(0.0004 + 0.0001/3).
    const moving = { ...standard, meanStandardDeviation: Math.sqrt(0.0004 + 0.0001 / 3) };
    expect(singleValueStandardDeviation(moving, 3)).toBeCloseTo(Math.sqrt(0.0005), 12);
    expect(singleValueStandardDeviation({ ...standard, meanStandardDeviation: 0.001 }, 3)).toBe(0.01);
    expect(() => singleValueStandardDeviation(standard, 0)).toThrow(
      expect.objectContaining({ argument: 'sampleSize' }),
    );
  });
});

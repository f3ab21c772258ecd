import { describe, expect, it } from 'vitest';
import { questionValue } from '../../src/decision/question-value.ts';
import {
  type Entry,
  emptyEntry,
  enterValue,
  entryOfReadings,
  goTo,
  hasMeasuredPiece,
  isComplete,
  isUntouched,
  keepValue,
  leaveOut,
  readingsOf,
  takeSuggestion,
} from '../../web/station/entry.ts';

const expectation = {
  mean: 955.04,
  standardDeviation: 0.18,
  otherModels: [{ modelId: 'Q10', name: 'Q10', nominal: 795.45 }],
  unit: 'mm',
  decimals: 2,
  lowerNaturalBound: null,
  upperNaturalBound: null,
};
const type = (entry: Entry, value: number): Entry =>
  enterValue(entry, entry.position, value, questionValue(value, expectation));

describe('a subgroup while it is typed', () => {
  it('walks from field to field and is complete after the last', () => {
    let entry = emptyEntry(3);
    expect(isUntouched(entry)).toBe(true);
    for (const value of [955.01, 955.1, 954.9]) entry = type(entry, value);
    expect(isComplete(entry)).toBe(true);
    expect(entry.position).toBe(3);
    expect(readingsOf(entry)).toEqual([{ value: 955.01 }, { value: 955.1 }, { value: 954.9 }]);
  });

  it('asks, stays on the field, and is not complete while a question is open', () => {
    const entry = type(emptyEntry(1), 951.52);
    expect(entry.position).toBe(0);
    expect(entry.fields[0]).toMatchObject({ state: 'asked', value: 951.52 });
    expect(entry.fields[0]?.question).toMatchObject({ kind: 'digit-swap', suggestion: 955.12 });
    expect(isComplete(entry)).toBe(false);
  });

  it('keeps the value asked about, with the question and the decision', () => {
    const entry = keepValue(type(emptyEntry(1), 951.52), 0);
    expect(readingsOf(entry)).toEqual([{ value: 951.52, asked: { kind: 'digit-swap', decision: 'kept' } }]);
  });

  it('takes the suggestion and does not forget what was typed first', () => {
    const entry = takeSuggestion(type(emptyEntry(1), 951.52), 0);
    expect(readingsOf(entry)).toEqual([
      { value: 955.12, firstValue: 951.52, asked: { kind: 'digit-swap', decision: 'changed' } },
    ]);
  });

  it('takes another value in answer to the question, asking about that one too', () => {
    const plausible = type(type(emptyEntry(1), 951.52), 955.21);
    expect(readingsOf(plausible)).toEqual([
      { value: 955.21, firstValue: 951.52, asked: { kind: 'digit-swap', decision: 'changed' } },
    ]);
    const odd = type(type(emptyEntry(1), 951.52), 795.5);
    expect(odd.fields[0]).toMatchObject({ state: 'asked', value: 795.5, firstValue: 951.52 });
    expect(readingsOf(keepValue(odd, 0))).toEqual([
      { value: 795.5, firstValue: 951.52, asked: { kind: 'other-model', decision: 'kept' } },
    ]);
  });

  it('takes the same value entered again as an answer: keep it', () => {
    const entry = type(type(emptyEntry(2), 951.52), 951.52);
    expect(entry.fields[0]).toMatchObject({ state: 'done', decided: { decision: 'kept' } });
    expect(entry.position).toBe(1);
  });

  it('leaves a piece out, and a sample of such pieces alone has nothing measured', () => {
    const one = leaveOut(emptyEntry(2), 0);
    expect(one.position).toBe(1);
    expect(hasMeasuredPiece(one)).toBe(false);
    expect(readingsOf(type(one, 955))).toEqual([{ value: null }, { value: 955 }]);
    expect(readingsOf(leaveOut(type(emptyEntry(1), 951.52), 0))).toEqual([
      { value: null, firstValue: 951.52, asked: { kind: 'digit-swap', decision: 'changed' } },
    ]);
  });

  it('goes back, changes a done value with its first value kept, and returns to the open field', () => {
    const three = type(type(emptyEntry(3), 955.01), 955.02);
    const changed = type(goTo(three, 0), 955.11);
    expect(changed.position).toBe(2);
    expect(changed.fields[0]).toMatchObject({ value: 955.11, firstValue: 955.01 });
    const unchanged = type(goTo(three, 0), 955.01);
    expect(unchanged.fields).toEqual(three.fields);
    expect(unchanged.position).toBe(2);
  });

  it('drops a first value that is the value again', () => {
    const back = type(type(goTo(type(type(emptyEntry(2), 955.01), 955), 0), 955.3), 955);
    expect(readingsOf(back)[0]).toEqual({ value: 955.3, firstValue: 955.01 });
    const again = type(goTo(back, 0), 955.01);
    expect(readingsOf(again)[0]).toEqual({ value: 955.01 });
  });

  it('does not answer a question that was not asked', () => {
    const entry = type(emptyEntry(2), 955);
    expect(keepValue(entry, 0)).toBe(entry);
    expect(takeSuggestion(entry, 1)).toBe(entry);
  });

  it('corrects a stored sample: unchanged readings stay as they are, a changed one starts anew', () => {
    const stored = [
      { value: 955.01 },
      { value: 955.12, firstValue: 951.52, asked: { kind: 'digit-swap', decision: 'changed' } as const },
    ];
    const entry = entryOfReadings(stored, 0);
    expect(readingsOf(entry)).toEqual(stored);
    const changed = type(entry, 955.4);
    expect(changed.position).toBe(1);
    expect(readingsOf(changed)).toEqual([{ value: 955.4 }, stored[1]]);
    expect(type(changed, 955.12).position).toBe(2);
    const asked = keepValue(type(goTo(entry, 1), 951.52), 1);
    expect(readingsOf(asked)[1]).toEqual({
      value: 951.52,
      asked: { kind: 'digit-swap', decision: 'kept' },
    });
  });
});

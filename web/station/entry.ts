/**
 * The state of a subgroup while it is typed: typed → asked → decided → complete. Pure: no screen, no clock.
 * Nothing that was entered is forgotten: a value replaced before the sample is sent stays as `firstValue`.
 */
import type { Question, Reading } from '../../api/schemas.ts';

export type ValueQuestion = Omit<Question, 'position'>;

export interface EntryField {
  readonly state: 'empty' | 'asked' | 'done';
  /** null while empty, and when the piece could not be measured. */
  readonly value: number | null;
  readonly firstValue: number | null;
  /** What is being asked about `value`, while the state is 'asked'. */
  readonly question: ValueQuestion | null;
  readonly decided: { readonly kind: Question['kind']; readonly decision: 'kept' | 'changed' } | null;
  /** The value stands in an earlier revision, which keeps it: replacing it needs no `firstValue`. */
  readonly stored: boolean;
}

export interface Entry {
  readonly fields: readonly EntryField[];
  /** The field being typed; `fields.length` once the last one is done. */
  readonly position: number;
}

const emptyField: EntryField = {
  state: 'empty',
  value: null,
  firstValue: null,
  question: null,
  decided: null,
  stored: false,
};

export const emptyEntry = (size: number): Entry => ({
  fields: Array.from({ length: size }, () => emptyField),
  position: 0,
});

/** A stored sample opened for correction. */
export const entryOfReadings = (readings: readonly Reading[], position: number): Entry => ({
  fields: readings.map((reading) => ({
    state: 'done',
    value: reading.value,
    firstValue: reading.firstValue ?? null,
    question: null,
    decided: reading.asked ?? null,
    stored: true,
  })),
  position,
});

export const isComplete = (entry: Entry): boolean => entry.fields.every((field) => field.state === 'done');

export const isUntouched = (entry: Entry): boolean => entry.fields.every((field) => field.state === 'empty');

export const hasMeasuredPiece = (entry: Entry): boolean =>
  entry.fields.some((field) => field.state === 'done' && field.value !== null);

/**
 * A value, entered in a field. `question` is what the software asks about it, if anything. The same value entered
 * again over its question keeps it; entered over a done field it changes nothing.
 */
export function enterValue(
  entry: Entry,
  position: number,
  value: number,
  question: ValueQuestion | null,
): Entry {
  const field = entry.fields[position]!;
  if (field.state === 'asked' && field.value === value) return keepValue(entry, position);
  if (field.state === 'done' && field.value === value) return walkOn(entry, position);
  const changed = replaced(field);
  return question === null
    ? settle(entry, position, { ...changed, state: 'done', value, question: null })
    : place(entry, position, { ...changed, state: 'asked', value, question }, position);
}

/** The person says that the value asked about is right. */
export function keepValue(entry: Entry, position: number): Entry {
  const field = entry.fields[position]!;
  if (field.question === null) return entry;
  const { kind } = field.question;
  return settle(entry, position, {
    ...field,
    state: 'done',
    question: null,
    decided: { kind, decision: 'kept' },
  });
}

/** The person takes what the software supposes was meant. */
export function takeSuggestion(entry: Entry, position: number): Entry {
  const field = entry.fields[position]!;
  if (field.question === null || field.question.suggestion === null) return entry;
  const value = field.question.suggestion;
  return settle(entry, position, { ...replaced(field), state: 'done', value, question: null });
}

/** This piece could not be measured. */
export function leaveOut(entry: Entry, position: number): Entry {
  const field = entry.fields[position]!;
  return settle(entry, position, { ...replaced(field), state: 'done', value: null, question: null });
}

export const goTo = (entry: Entry, position: number): Entry => ({
  ...entry,
  position: Math.min(Math.max(position, 0), entry.fields.length - 1),
});

/** What is sent. Only for a complete entry. */
export const readingsOf = (entry: Entry): Reading[] =>
  entry.fields.map(({ value, firstValue, decided }) => ({
    value,
    ...(firstValue !== null && firstValue !== value ? { firstValue } : {}),
    ...(decided !== null ? { asked: decided } : {}),
  }));

/** The field as its value is about to be replaced: the first value and the question answered stay with it. */
function replaced(field: EntryField): EntryField {
  if (field.stored) return { ...emptyField };
  const kind = field.question?.kind ?? field.decided?.kind;
  return {
    ...field,
    firstValue: field.firstValue ?? field.value,
    decided: kind === undefined ? null : { kind, decision: 'changed' },
  };
}

function place(entry: Entry, index: number, field: EntryField, position: number): Entry {
  return { fields: entry.fields.map((old, i) => (i === index ? field : old)), position };
}

/** Puts a done field in place and goes on: to the next open field, or past the end when this was the last. */
function settle(entry: Entry, index: number, field: EntryField): Entry {
  const wasDone = entry.fields[index]!.state === 'done';
  const after = place(entry, index, field, index);
  if (!isComplete(after) || wasDone) return walkOn(after, index);
  return { ...after, position: after.fields.length };
}

/** The next field that is not done, after this one and then before it; in a complete entry simply the next. */
function walkOn(entry: Entry, index: number): Entry {
  const later = entry.fields.findIndex((field, i) => i > index && field.state !== 'done');
  if (later >= 0) return { ...entry, position: later };
  const earlier = entry.fields.findIndex((field) => field.state !== 'done');
  return { ...entry, position: earlier >= 0 ? earlier : index + 1 };
}

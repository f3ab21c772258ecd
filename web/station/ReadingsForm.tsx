import type { Signal } from '@preact/signals';
import { useSignal } from '@preact/signals';
import type { ComponentChildren } from 'preact';
import { useEffect, useLayoutEffect, useRef } from 'preact/hooks';
import type { Characteristic, StationTask } from '../../api/schemas.ts';
import { questionValue } from '../../src/decision/question-value.ts';
import { parseTyped } from '../format.ts';
import { specificationFor } from '../plant.ts';
import { decimalMark } from '../session.ts';
import { announce } from './announce.tsx';
import {
  type Entry,
  type EntryField,
  enterValue,
  goTo,
  isComplete,
  keepValue,
  leaveOut,
  takeSuggestion,
  type ValueQuestion,
} from './entry.ts';
import { Keypad } from './Keypad.tsx';
import { keypadShown } from './keypad-choice.ts';
import { type KeypadKey, pressKey } from './keypad-text.ts';
import { exactNumber, exactWithUnit, inOwnMark } from './names.ts';
import { ReadingRow } from './ReadingRow.tsx';

const textOf = (field: EntryField, decimals: number): string =>
  field.value === null ? '' : exactNumber(field.value, decimals);

/**
 * The readings of a sample, entered with digits and Enter. The focus stays in the field that is being typed, also
 * while a question is open: whatever a gauge sends replaces the value asked about. Enter alone only moves the
 * focus to the choices; it never answers.
 */
export function ReadingsForm({
  entry,
  modelId,
  characteristic,
  expectation,
  wrongAtPosition,
  focusRequest,
  done,
  drawing,
  children,
}: {
  entry: Signal<Entry>;
  modelId: string;
  characteristic: Characteristic;
  expectation: StationTask['expectation'];
  /** What the server says about a reading. */
  wrongAtPosition: (position: number) => string | null;
  /** Changes when the focus shall go to the field at `entry.position`. */
  focusRequest: number;
  /** The last Enter, with the moment it was pressed. */
  done: (enteredAt: number) => void;
  /** Beside the fields, above the keypad. */
  drawing: ComponentChildren;
  /** Beside the fields, below the keypad. */
  children?: ComponentChildren;
}) {
  const { decimals } = characteristic;
  const texts = useSignal<readonly string[]>(entry.value.fields.map((field) => textOf(field, decimals)));
  const wrong = useSignal<string | null>(null);
  /** The text of the field is as it was put there, and selected: typing replaces it. */
  const untyped = useRef(true);
  const inputs = useRef<(HTMLInputElement | null)[]>([]);
  const rows = useRef<HTMLOListElement>(null);
  const { position, fields } = entry.value;
  const asked = fields[position]?.question ?? null;

  const setText = (index: number, text: string) => {
    texts.value = texts.value.map((old, i) => (i === index ? text : old));
  };
  const isEntered = (index: number): boolean => {
    const field = entry.value.fields[index]!;
    const text = texts.value[index]!;
    return field.state === 'empty' || field.value === null
      ? text.trim() === ''
      : parseTyped(text) === field.value;
  };

  useLayoutEffect(() => {
    untyped.current = true;
    const input = inputs.current[position];
    input?.focus();
    input?.select();
  }, [position, asked, focusRequest]);
  useEffect(() => {
    if (asked === null) return;
    announce(inOwnMark(asked.sentence, characteristic));
    const row = rows.current?.querySelector('.station-reading.active');
    row?.scrollIntoView({ block: 'nearest' });
    // Taller than the room above the keypad: the sentence and the first choice come first.
    if (row != null && row.getBoundingClientRect().top < 0) row.scrollIntoView({ block: 'start' });
  }, [asked]);

  /** Takes over the entry after a field was answered, and goes on. */
  const goOn = (next: Entry, index: number, enteredAt: number) => {
    wrong.value = null;
    entry.value = next;
    setText(index, textOf(next.fields[index]!, decimals));
    if (!isComplete(next) || next.position < next.fields.length) return;
    const open = next.fields.findIndex((_, i) => !isEntered(i));
    if (open >= 0) entry.value = goTo(next, open);
    else done(enteredAt);
  };

  const enter = (index: number, enteredAt = performance.now()) => {
    const field = entry.value.fields[index]!;
    if (field.state === 'asked' && untyped.current) {
      rows.current?.querySelector<HTMLElement>('.station-question button')?.focus();
      return;
    }
    if (field.state === 'done' && field.value === null && texts.value[index]!.trim() === '')
      return goOn(leaveOut(entry.value, index), index, enteredAt);
    const value = parseTyped(texts.value[index]!);
    if (value === null || Math.abs(value) > 1e12) {
      wrong.value =
        texts.value[index]!.trim() === ''
          ? 'Type the value, or leave this piece out.'
          : 'This is not one number. Type digits, with a comma or a point.';
      inputs.current[index]?.select();
      return;
    }
    goOn(enterValue(entry.value, index, value, ask(value, characteristic, expectation)), index, enteredAt);
  };

  const type = (index: number, text: string) => {
    untyped.current = false;
    wrong.value = null;
    setText(index, text);
  };

  const press = (key: KeypadKey) => {
    const index = Math.min(position, fields.length - 1);
    const input = inputs.current[index];
    const selected =
      input != null &&
      input.value !== '' &&
      input.selectionStart === 0 &&
      input.selectionEnd === input.value.length;
    type(index, pressKey({ text: texts.value[index]!, selected }, key, decimalMark.value ?? '.').text);
    input?.focus();
  };

  const current = fields[position];
  const specification = specificationFor(characteristic.id, modelId);
  const typedValue = parseTyped(texts.value[position] ?? '');
  return (
    <div class="station-form">
      <ol class="station-readings" ref={rows}>
        {fields.map((field, index) => (
          <ReadingRow
            key={index}
            index={index}
            field={field}
            text={texts.value[index]!}
            active={index === position}
            entered={isEntered(index)}
            characteristic={characteristic}
            drawing={specification}
            wrong={(index === position ? wrong.value : null) ?? wrongAtPosition(index)}
            inputRef={(input) => {
              inputs.current[index] = input;
            }}
            focused={() => {
              if (index !== entry.value.position) {
                wrong.value = null;
                entry.value = goTo(entry.value, index);
              }
            }}
            type={(text) => type(index, text)}
            enter={() => enter(index)}
            back={() => {
              if (index > 0) entry.value = goTo(entry.value, index - 1);
            }}
            keep={() => goOn(keepValue(entry.value, index), index, performance.now())}
            takeSuggestion={() => goOn(takeSuggestion(entry.value, index), index, performance.now())}
            leaveOut={() => goOn(leaveOut(entry.value, index), index, performance.now())}
            retype={(text) => {
              type(index, text);
              inputs.current[index]?.focus();
            }}
          />
        ))}
      </ol>
      <div class="station-beside">
        {drawing}
        <div class={`station-typing ${keypadShown.value ? 'with-keys' : ''}`}>
          <p class="station-readout">
            <span class="station-readout-label">
              {current === undefined ? 'All entered' : `Piece ${position + 1} of ${fields.length}`}
            </span>
            <output>{typedValue === null ? '–' : exactWithUnit(typedValue, characteristic)}</output>
          </p>
          <Keypad press={press} enter={() => enter(Math.min(position, fields.length - 1))} />
        </div>
        {children}
      </div>
    </div>
  );
}

function ask(
  value: number,
  { unit, decimals, lowerNaturalBound, upperNaturalBound }: Characteristic,
  expectation: StationTask['expectation'],
): ValueQuestion | null {
  if (expectation === null) return null;
  return questionValue(value, { ...expectation, unit, decimals, lowerNaturalBound, upperNaturalBound });
}

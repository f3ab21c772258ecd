import { useSignal } from '@preact/signals';
import type { ComponentChildren } from 'preact';
import { useEffect, useRef } from 'preact/hooks';
import type { CountedParts } from '../../api/schemas.ts';
import { decimalMark } from '../session.ts';
import { Field } from '../ui/Field.tsx';
import { wrongAt } from '../ui/ProblemNotice.tsx';
import { type CountField, countedParts, wrongCount } from './count-entry.ts';
import { Keypad } from './Keypad.tsx';
import { keypadShown } from './keypad-choice.ts';
import { type KeypadKey, pressKey } from './keypad-text.ts';

const fieldNames: readonly CountField[] = ['inspected', 'nonconforming'];
const labels: Record<CountField, string> = {
  inspected: 'Parts inspected',
  nonconforming: 'Parts nonconforming',
};

/** A sample of counted parts: how many were looked at, how many were bad. */
export function CountForm({
  planned,
  given,
  error,
  done,
  drawing,
  children,
}: {
  planned: number;
  /** The counts as stored, for a correction. */
  given?: CountedParts;
  error: Error | null;
  done: (count: CountedParts, enteredAt: number) => void;
  /** Beside the fields, above the keypad. */
  drawing: ComponentChildren;
  /** Beside the fields, below the keypad. */
  children?: ComponentChildren;
}) {
  const texts = useSignal<Record<CountField, string>>({
    inspected: String(given?.inspected ?? planned),
    nonconforming: given === undefined ? '' : String(given.nonconforming),
  });
  const wrong = useSignal<Record<CountField, string | null>>({ inspected: null, nonconforming: null });
  const active = useRef<CountField>('inspected');
  const inputs = useRef<Record<CountField, HTMLInputElement | null>>({
    inspected: null,
    nonconforming: null,
  });
  const focus = (field: CountField) => {
    inputs.current[field]?.focus();
    inputs.current[field]?.select();
  };
  useEffect(() => focus('inspected'), []);

  const type = (field: CountField, text: string) => {
    texts.value = { ...texts.value, [field]: text };
    wrong.value = { ...wrong.value, [field]: null };
  };
  const enter = (field: CountField) => {
    const enteredAt = performance.now();
    const { inspected, nonconforming } = texts.value;
    const problem = wrongCount(field, texts.value[field], inspected);
    wrong.value = { ...wrong.value, [field]: problem };
    if (problem !== null) return focus(field);
    if (field === 'inspected') return focus('nonconforming');
    const count = countedParts(inspected, nonconforming);
    if (count === null) return focus('inspected');
    done(count, enteredAt);
  };
  const send = () => {
    const { inspected } = texts.value;
    enter(wrongCount('inspected', inspected, inspected) === null ? 'nonconforming' : 'inspected');
  };
  const press = (key: KeypadKey) => {
    const field = active.current;
    const input = inputs.current[field];
    const selected =
      input !== null &&
      input.value !== '' &&
      input.selectionStart === 0 &&
      input.selectionEnd === input.value.length;
    type(field, pressKey({ text: texts.value[field], selected }, key, decimalMark.value ?? '.').text);
    input?.focus();
  };

  return (
    <div class="station-form">
      <div class="station-counts">
        {fieldNames.map((field) => (
          <Field key={field} label={labels[field]} wrong={wrong.value[field] ?? wrongAt(error, field)}>
            <input
              type="text"
              inputMode={keypadShown.value ? 'none' : 'numeric'}
              autoComplete="off"
              enterKeyHint="next"
              ref={(input: HTMLInputElement | null) => {
                inputs.current[field] = input;
              }}
              value={texts.value[field]}
              onFocus={() => {
                active.current = field;
              }}
              onInput={(event: { currentTarget: HTMLInputElement }) => type(field, event.currentTarget.value)}
              onKeyDown={(event: KeyboardEvent) => {
                if (event.key === 'Enter') {
                  event.preventDefault();
                  if (!event.repeat) enter(field);
                } else if (
                  event.key === 'Backspace' &&
                  field === 'nonconforming' &&
                  texts.value.nonconforming === ''
                ) {
                  event.preventDefault();
                  focus('inspected');
                }
              }}
            />
          </Field>
        ))}
        {!keypadShown.value && (
          <button type="button" class="main station-send" onClick={send}>
            Send
          </button>
        )}
      </div>
      <div class="station-beside">
        {drawing}
        <div class={`station-typing ${keypadShown.value ? 'with-keys' : ''}`}>
          <Keypad whole press={press} enter={() => enter(active.current)} />
        </div>
        {children}
      </div>
    </div>
  );
}

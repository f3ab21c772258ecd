import { decimalMark } from '../session.ts';
import { keypadShown } from './keypad-choice.ts';
import type { KeypadKey } from './keypad-text.ts';

/** Shows or hides the keypad on this device. */
export function KeypadToggle() {
  return (
    <button
      type="button"
      class="station-plain"
      aria-pressed={keypadShown.value}
      onMouseDown={(event) => event.preventDefault()}
      onClick={() => {
        keypadShown.value = !keypadShown.value;
      }}
    >
      Keypad
      <span class="visually-hidden"> on the screen</span>
    </button>
  );
}

/** Keys for fingers in gloves. They leave the focus in the field, so that keyboard and gauge go on working. */
export function Keypad({
  press,
  enter,
  whole = false,
}: {
  press: (key: KeypadKey) => void;
  enter: () => void;
  /** Whole numbers only. */
  whole?: boolean;
}) {
  if (!keypadShown.value) return null;
  const key = (name: KeypadKey, shown: string = name, label?: string) => (
    <button
      key={name}
      type="button"
      class={`station-key key-${name}`}
      aria-label={label}
      onMouseDown={(event) => event.preventDefault()}
      onClick={() => press(name)}
    >
      {shown}
    </button>
  );
  return (
    // biome-ignore lint/a11y/useSemanticElements: keys are no set of form fields
    <div class={`station-keypad ${whole ? 'whole' : ''}`} role="group" aria-label="Keypad">
      {(['7', '8', '9'] as const).map((digit) => key(digit))}
      {key('back', '⌫', 'take the last character back')}
      {(['4', '5', '6'] as const).map((digit) => key(digit))}
      {whole ? <span /> : key('sign', '±', 'change the sign')}
      {(['1', '2', '3'] as const).map((digit) => key(digit))}
      <button
        type="button"
        class="station-key key-enter main"
        onMouseDown={(event) => event.preventDefault()}
        onClick={enter}
      >
        Enter
      </button>
      {key('0')}
      {!whole && key('mark', decimalMark.value ?? '.', 'decimal mark')}
    </div>
  );
}

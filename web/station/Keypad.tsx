import { decimalMark } from '../session.ts';
import { keypadShown } from './keypad-choice.ts';
import type { KeypadKey } from './keypad-text.ts';

const rows: readonly KeypadKey[] = ['7', '8', '9', '4', '5', '6', '1', '2', '3'];

/** Keys for fingers in gloves. They leave the focus in the field, so that keyboard and gauge go on working. */
export function Keypad({
  press,
  enter,
  whole,
}: {
  press: (key: KeypadKey) => void;
  enter: () => void;
  /** Whole numbers only. */
  whole?: boolean;
}) {
  const key = (name: KeypadKey, shown: string, label?: string) => (
    <button
      key={name}
      type="button"
      class="station-key"
      aria-label={label}
      onMouseDown={(event) => event.preventDefault()}
      onClick={() => press(name)}
    >
      {shown}
    </button>
  );
  return (
    <div class="station-keypad-frame">
      <button
        type="button"
        class="station-plain"
        aria-pressed={keypadShown.value}
        onMouseDown={(event) => event.preventDefault()}
        onClick={() => {
          keypadShown.value = !keypadShown.value;
        }}
      >
        Keypad on the screen
      </button>
      {keypadShown.value && (
        // biome-ignore lint/a11y/useSemanticElements: keys are no set of form fields
        <div class="station-keypad" role="group" aria-label="Keypad">
          {rows.map((digit) => key(digit, digit))}
          {whole ? <span /> : key('mark', decimalMark.value ?? '.', 'decimal mark')}
          {key('0', '0')}
          {key('back', '⌫', 'take the last character back')}
          {!whole && key('sign', '±', 'change the sign')}
          <button
            type="button"
            class={`station-key main ${whole ? 'whole' : ''}`}
            onMouseDown={(event) => event.preventDefault()}
            onClick={enter}
          >
            Enter
          </button>
        </div>
      )}
    </div>
  );
}

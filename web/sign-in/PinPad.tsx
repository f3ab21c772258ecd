/** Large keys for a PIN, for fingers in gloves. They leave the focus in the field. */
export function PinPad({ type, back }: { type: (digit: string) => void; back: () => void }) {
  const key = (shown: string, press: () => void, label?: string) => (
    <button
      key={shown}
      type="button"
      class="pin-key"
      aria-label={label}
      onMouseDown={(event) => event.preventDefault()}
      onClick={press}
    >
      {shown}
    </button>
  );
  return (
    // biome-ignore lint/a11y/useSemanticElements: keys are no set of form fields
    <div class="pin-pad" role="group" aria-label="Digits">
      {['1', '2', '3', '4', '5', '6', '7', '8', '9'].map((digit) => key(digit, () => type(digit)))}
      <span />
      {key('0', () => type('0'))}
      {key('⌫', back, 'take the last digit back')}
    </div>
  );
}

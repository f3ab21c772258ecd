/** What a key of the on-screen keypad does to the text in the field. */
export type KeypadKey = '0' | '1' | '2' | '3' | '4' | '5' | '6' | '7' | '8' | '9' | 'mark' | 'sign' | 'back';

export interface TypedText {
  readonly text: string;
  /** The whole text is selected: the next digit replaces it, as on a keyboard. */
  readonly selected: boolean;
}

export function pressKey(typed: TypedText, key: KeypadKey, decimalMark: ',' | '.'): TypedText {
  const text = typed.selected && key !== 'sign' ? '' : typed.text;
  return { text: pressed(text, key, decimalMark), selected: false };
}

function pressed(text: string, key: KeypadKey, decimalMark: ',' | '.'): string {
  switch (key) {
    case 'back':
      return text.slice(0, -1);
    case 'mark':
      if (/[.,]/.test(text)) return text;
      return `${/\d$/.test(text) ? text : `${text}0`}${decimalMark}`;
    case 'sign':
      return /^[-−]/.test(text) ? text.slice(1) : `-${text}`;
    default:
      return `${text}${key}`;
  }
}

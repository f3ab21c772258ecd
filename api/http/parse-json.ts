import { ProblemError, unacceptable } from '../problem.ts';

/** Deepest nesting and longest list that any body of the contract could need, with room to spare. */
const MAX_DEPTH = 32;
const USUAL_ENTRIES = 1000;

const NUMBER = /-?(?:0|[1-9]\d*)(?:\.\d+)?(?:[eE][+-]?\d+)?/y;
const HEX = /[0-9a-fA-F]{4}/y;
const ESCAPES: Readonly<Record<string, string>> = {
  '"': '"',
  '\\': '\\',
  '/': '/',
  b: '\b',
  f: '\f',
  n: '\n',
  r: '\r',
  t: '\t',
};
const LITERALS = [
  ['true', true],
  ['false', false],
  ['null', null],
] as const;

/**
 * Reads JSON (RFC 8259) more strictly than JSON.parse: a name given twice, a number too large to hold, NUL, half a
 * surrogate pair, deep nesting and endless lists are refused, because each of them loses or hides something.
 * Says where in words.
 *
 * @param maxEntries  longest list that is taken.
 * @throws ProblemError 400 where the text is not JSON; 422, with the dotted path, where it is but cannot be taken.
 */
export function parseJson(text: string, maxEntries = USUAL_ENTRIES): unknown {
  let at = 0;
  const path: (string | number)[] = [];

  const malformed = (expected: string): never => {
    const before = text.slice(0, at).split('\n');
    const found =
      at >= text.length ? 'the end of the body' : JSON.stringify(String.fromCodePoint(text.codePointAt(at)!));
    const place = `line ${before.length}, column ${before.at(-1)!.length + 1}`;
    const message = `The body is not JSON: at ${place}, expected ${expected} but found ${found}.`;
    throw new ProblemError(400, 'Malformed JSON', message, [{ field: path.join('.') || 'body', message }]);
  };
  const refuse = (message: string): never => {
    throw unacceptable(path.join('.') || 'body', message);
  };

  const skipSpace = (): void => {
    for (;;) {
      const code = text.charCodeAt(at);
      if (code !== 32 && code !== 10 && code !== 13 && code !== 9) return;
      at += 1;
    }
  };

  const readString = (): string => {
    at += 1;
    let value = '';
    let from = at;
    for (;;) {
      const code = text.charCodeAt(at);
      if (code === 34) {
        value += text.slice(from, at);
        at += 1;
        break;
      }
      if (at >= text.length || code < 32)
        malformed('the closing quote of a text (line breaks are written \\n)');
      if (code === 92) {
        value += text.slice(from, at);
        value += readEscape();
        from = at;
      } else at += 1;
    }
    if (value.includes('\0')) refuse('holds a NUL character; remove it');
    if (/\p{Surrogate}/u.test(value))
      refuse('holds half of a surrogate pair, which is no character; remove it');
    return value;
  };

  const readEscape = (): string => {
    at += 1;
    const letter = text.charAt(at);
    if (letter === 'u') {
      at += 1;
      HEX.lastIndex = at;
      const digits = HEX.exec(text)?.[0] ?? malformed('four hexadecimal digits after \\u');
      at += 4;
      return String.fromCharCode(Number.parseInt(digits, 16));
    }
    const plain = ESCAPES[letter] ?? malformed('one of " \\ / b f n r t u after a backslash');
    at += 1;
    return plain;
  };

  const readNumber = (): number => {
    NUMBER.lastIndex = at;
    const digits = NUMBER.exec(text)?.[0] ?? malformed('a value');
    const value = Number(digits);
    if (!Number.isFinite(value)) refuse(`the number ${digits.slice(0, 40)} is too large; check its exponent`);
    at += digits.length;
    return value;
  };

  const readArray = (): unknown[] => {
    const values: unknown[] = [];
    at += 1;
    skipSpace();
    if (text[at] === ']') {
      at += 1;
      return values;
    }
    for (;;) {
      if (values.length === maxEntries) refuse(`has more than ${maxEntries} entries; send fewer`);
      path.push(values.length);
      values.push(readValue());
      path.pop();
      if (text[at] === ',') at += 1;
      else if (text[at] === ']') {
        at += 1;
        return values;
      } else malformed('a comma or ]');
    }
  };

  const readObject = (): Record<string, unknown> => {
    const entries = new Map<string, unknown>();
    at += 1;
    skipSpace();
    if (text[at] === '}') {
      at += 1;
      return {};
    }
    for (;;) {
      skipSpace();
      if (text[at] !== '"') malformed('a name in double quotes');
      const name = readString();
      path.push(name);
      if (entries.has(name)) refuse('is given twice; give it once');
      if (entries.size === maxEntries) refuse(`has more than ${maxEntries} entries; send fewer`);
      skipSpace();
      if (text[at] !== ':') malformed('a colon after the name');
      at += 1;
      entries.set(name, readValue());
      path.pop();
      if (text[at] === ',') at += 1;
      else if (text[at] === '}') {
        at += 1;
        return Object.fromEntries(entries);
      } else malformed('a comma or }');
    }
  };

  const readValue = (): unknown => {
    if (path.length > MAX_DEPTH) {
      path.length = 3;
      refuse(`is nested deeper than ${MAX_DEPTH} levels`);
    }
    skipSpace();
    const first = text[at];
    let value: unknown;
    if (first === '{') value = readObject();
    else if (first === '[') value = readArray();
    else if (first === '"') value = readString();
    else {
      const literal = LITERALS.find(([word]) => text.startsWith(word, at));
      if (literal === undefined) value = readNumber();
      else {
        value = literal[1];
        at += literal[0].length;
      }
    }
    skipSpace();
    return value;
  };

  const value = readValue();
  if (at < text.length) malformed('nothing more after the value');
  return value;
}

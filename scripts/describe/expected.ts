/**
 * What an example promises in the comment lines at its end: a list of `path value` (or one value alone), where a
 * number that ends with … shows its leading digits, cut off, and `available` means that available is true.
 */

/** Digits that are shown, and the width of what is cut off behind them. */
class Digits {
  constructor(
    readonly text: string,
    readonly least: number,
    readonly width: number,
  ) {}
}

/** A number written out may differ by rounding in its last digits. */
const ROUNDING = 1e-9;

interface Promised {
  readonly path: string;
  readonly value: unknown;
}

/** Names and places: points[2].value, points.2.value, [0].state. */
const PATH = /^(?:[A-Za-z_][\w$]*|\[\d+\])(?:\.[\w$]+|\[\d+\])*/;

const NUMBER = /^([-−]?)(\d+)(?:\.(\d+))?(?:(…)?([eE][+-]?\d+)?)(…)?/;

/** Reads one value, JSON with … numbers, single quotes and bare names allowed; returns it and what follows it. */
function readValue(text: string): [value: unknown, rest: string] | null {
  const number = NUMBER.exec(text);
  if (number !== null) {
    const [all, minus = '', whole = '', decimals = '', inner, exponent = '', outer] = number;
    const plain = Number(`${whole}.${decimals || '0'}${exponent}`);
    const rest = text.slice(all.length);
    const sign = minus === '' ? 1 : -1;
    if (inner === undefined && outer === undefined) return [sign * plain, rest];
    const width = Number(`1e${-decimals.length + Number(exponent.slice(1) || 0)}`);
    return [new Digits(all, sign * plain, sign * width), rest];
  }
  const quoted = /^'((?:[^'\\]|\\.)*)'|^"((?:[^"\\]|\\.)*)"/.exec(text);
  if (quoted !== null) {
    const inner = (quoted[1] ?? quoted[2]!).replace(/\\(.)/g, '$1');
    return [inner, text.slice(quoted[0].length)];
  }
  for (const [word, value] of [
    ['true', true],
    ['false', false],
    ['null', null],
  ] as const)
    if (text.startsWith(word) && !/^\w/.test(text.slice(word.length)))
      return [value, text.slice(word.length)];
  if (text.startsWith('[')) return readList(text);
  if (text.startsWith('{')) return readFields(text);
  return null;
}

function readList(text: string): [unknown[], string] | null {
  const values: unknown[] = [];
  let rest = text.slice(1).trimStart();
  while (!rest.startsWith(']')) {
    const read = readValue(rest);
    if (read === null) return null;
    values.push(read[0]);
    rest = read[1].trimStart();
    if (rest.startsWith(',')) rest = rest.slice(1).trimStart();
    else if (!rest.startsWith(']')) return null;
  }
  return [values, rest.slice(1)];
}

function readFields(text: string): [Record<string, unknown>, string] | null {
  const fields: Record<string, unknown> = {};
  let rest = text.slice(1).trimStart();
  while (!rest.startsWith('}')) {
    const name = /^["']?(\w+)["']?\s*:\s*/.exec(rest);
    const read = name && readValue(rest.slice(name[0].length));
    if (!read) return null;
    fields[name[1]!] = read[0];
    rest = read[1].trimStart();
    if (rest.startsWith(',')) rest = rest.slice(1).trimStart();
    else if (!rest.startsWith('}')) return null;
  }
  return [fields, rest.slice(1)];
}

/** Reads the text of the comment lines; throws where it is not in the form. */
export function readPromises(text: string): Promised[] {
  const promises: Promised[] = [];
  let rest = text.trim();
  while (rest !== '') {
    const whole = promises.length === 0 ? readValue(rest) : null;
    if (whole !== null && whole[1].trim() === '') return [{ path: '', value: whole[0] }];
    const path = PATH.exec(rest)?.[0];
    if (path === undefined) throw new Error(`cannot read "${rest}" as "path value"`);
    rest = rest.slice(path.length).trimStart();
    if (path === 'available' && (rest === '' || rest.startsWith(','))) {
      promises.push({ path, value: true });
    } else {
      const read = readValue(rest);
      if (read === null) throw new Error(`cannot read "${rest}" as the value of ${path}`);
      promises.push({ path, value: read[0] });
      rest = read[1].trimStart();
    }
    if (rest !== '' && !rest.startsWith(',')) throw new Error(`a comma is missing before "${rest}"`);
    rest = rest.replace(/^,\s*/, '');
  }
  return promises;
}

function at(result: unknown, path: string): unknown {
  let value = result;
  for (const step of path.match(/[\w$]+/g) ?? []) value = (value as Record<string, unknown> | null)?.[step];
  return value;
}

/** Where `actual` differs from what was promised, in words; null where it does not. Fields not named may be anything. */
function difference(actual: unknown, promised: unknown, path: string): string | null {
  const differs = `${path || 'the result'} is ${JSON.stringify(actual)}, not ${promised instanceof Digits ? promised.text : JSON.stringify(promised)}`;
  if (promised instanceof Digits) {
    if (typeof actual !== 'number') return differs;
    const slack = ROUNDING * Math.abs(promised.least);
    const [low, high] = [promised.least, promised.least + promised.width].sort((a, b) => a - b) as [
      number,
      number,
    ];
    return actual >= low - slack && actual <= high + slack ? null : differs;
  }
  if (typeof promised === 'number') {
    const close =
      typeof actual === 'number' && Math.abs(actual - promised) <= ROUNDING * Math.max(1, Math.abs(promised));
    return close ? null : differs;
  }
  if (Array.isArray(promised)) {
    const list =
      Array.isArray(actual) || ArrayBuffer.isView(actual) ? Array.from(actual as ArrayLike<unknown>) : null;
    if (list === null || list.length !== promised.length) return differs;
    return firstOf(promised.map((value, index) => difference(list[index], value, `${path}[${index}]`)));
  }
  if (typeof promised === 'object' && promised !== null) {
    if (typeof actual !== 'object' || actual === null) return differs;
    return firstOf(
      Object.entries(promised).map(([name, value]) => difference(at(actual, name), value, `${path}.${name}`)),
    );
  }
  return Object.is(actual, promised) ? null : differs;
}

const firstOf = (found: readonly (string | null)[]): string | null =>
  found.find((one) => one !== null) ?? null;

/** What of the promises does not hold for the result; empty where all do. */
export function brokenPromises(result: unknown, promises: readonly Promised[]): string[] {
  return promises
    .map(({ path, value }) => difference(at(result, path), value, path))
    .filter((one) => one !== null);
}

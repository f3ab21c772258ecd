import { runInNewContext } from 'node:vm';

/** An example apart: what runs, and what the comment lines at its end promise. */
export function splitExample(example: string): { code: string; promise: string } {
  const lines = example.split('\n');
  let end = lines.length;
  while (end > 0 && /^\s*\/\//.test(lines[end - 1]!)) end -= 1;
  return {
    code: lines.slice(0, end).join('\n').trim(),
    promise: lines
      .slice(end)
      .map((line) => line.replace(/^\s*\/\/\s?/, ''))
      .join(' ')
      .trim(),
  };
}

type Call = (...given: readonly unknown[]) => unknown;

interface Ran {
  /** Value of the last statement. */
  readonly result: unknown;
  /** What `name` was called with last; null where the example never calls it. */
  readonly given: readonly unknown[] | null;
  /** What that call returned. */
  readonly returned: unknown;
}

/** Runs the code of an example as it stands, with the public functions in reach and nothing else. */
export function runExample(code: string, name: string, functions: Readonly<Record<string, unknown>>): Ran {
  let given: readonly unknown[] | null = null;
  let returned: unknown;
  const call = functions[name] as Call;
  const watched: Call = (...values) => {
    given = structuredClone(values);
    returned = call(...values);
    return returned;
  };
  // Typed arrays and errors of this realm, so that they are what the functions take them for.
  const scope = {
    ...functions,
    [name]: watched,
    Float64Array,
    Uint8Array,
    Int32Array,
    Array,
    Object,
    Math,
    Error,
  };
  const result: unknown = runInNewContext(code, scope);
  if (result === undefined) throw new Error('the last statement must be an expression with a value');
  return { result, given, returned };
}

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { parseJson } from '../../api/http/parse-json.ts';
import { ProblemError } from '../../api/problem.ts';

const refusalOf = (text: string): ProblemError['problem'] => {
  try {
    parseJson(text);
  } catch (error) {
    if (error instanceof ProblemError) return error.problem;
    throw error;
  }
  throw new Error(`accepted ${text.slice(0, 80)}`);
};

describe('parseJson', () => {
  it('reads what JSON.parse reads', () => {
    fc.assert(
      fc.property(fc.json(), fc.constantFrom(0, 2), (text, indent) => {
        const expected = JSON.parse(text);
        const spaced = JSON.stringify(expected, null, indent);
        // fc.json makes NUL and half surrogates too, which are refused on purpose.
        fc.pre(!/\\u0000|\\ud[89a-f]/i.test(spaced) && !/\p{Surrogate}/u.test(spaced));
        expect(parseJson(spaced)).toEqual(expected);
      }),
      { numRuns: 500 },
    );
  });

  it('accepts or refuses like JSON.parse when one character is changed', () => {
    fc.assert(
      fc.property(
        fc.json(),
        fc.nat(),
        fc.constantFrom(...'{}[]",:.-+eE01 \\utfn\n'),
        (text, place, letter) => {
          const at = place % (text.length + 1);
          const changed = text.slice(0, at) + letter + text.slice(at + 1);
          let valid = true;
          try {
            JSON.parse(changed);
          } catch {
            valid = false;
          }
          let status = 200;
          try {
            parseJson(changed);
          } catch (error) {
            status = (error as ProblemError).problem.status;
          }
          if (valid) expect([200, 422]).toContain(status);
          else expect([400, 422]).toContain(status);
        },
      ),
      { numRuns: 2000 },
    );
  });

  it.each([
    ['', 'line 1, column 1', 'a value', 'the end of the body'],
    ['{"a": 1,\n  "b" 2}', 'line 2, column 7', 'a colon', '"2"'],
    ['{"a": 1,}', 'line 1, column 9', 'a name in double quotes', '"}"'],
    ['[1 2]', 'line 1, column 4', 'a comma or ]', '"2"'],
    ['{"a": 01}', 'line 1, column 8', 'a comma or }', '"1"'],
    ['{"a": NaN}', 'line 1, column 7', 'a value', '"N"'],
    ['"ab\n', 'line 1, column 4', 'closing quote', String.raw`"\n"`],
    [String.raw`"\x"`, 'line 1, column 3', 'after a backslash', '"x"'],
    [String.raw`"\u12g4"`, 'line 1, column 4', 'hexadecimal', '"1"'],
    ['true false', 'line 1, column 6', 'nothing more', '"f"'],
  ])('says where %j is not JSON', (text, place, expected, found) => {
    const problem = refusalOf(text);
    expect(problem.status).toBe(400);
    expect(problem.detail).toContain(place);
    expect(problem.detail).toContain(expected);
    expect(problem.detail).toContain(`found ${found}`);
  });

  it.each([
    ['a name given twice', '{"readings": [{"value": 1, "value": 2}]}', 'readings.0.value', 'twice'],
    ['a number too large to hold', '{"mean": [1, 1e400]}', 'mean.1', 'too large'],
    ['NUL', String.raw`{"note": "a\u0000b"}`, 'note', 'NUL'],
    ['half a surrogate pair', String.raw`{"note": "\ud83d"}`, 'note', 'surrogate'],
    ['an endless list', `{"readings": [${'1,'.repeat(400_000)}1]}`, 'readings', 'more than 1000'],
  ])('refuses %s by name', (_, text, field, words) => {
    const problem = refusalOf(text);
    expect(problem.status).toBe(422);
    expect(problem.errors).toEqual([{ field, message: expect.stringContaining(words) }]);
  });

  it('refuses deep nesting without deep recursion', () => {
    expect(refusalOf('['.repeat(500_000)).detail).toContain('nested deeper than 32');
    expect(refusalOf('{"a":'.repeat(100_000)).status).toBe(422);
  });

  it('keeps a name that JavaScript treats specially as plain data', () => {
    const value = parseJson('{"__proto__": {"role": "supervisor"}}') as Record<string, unknown>;
    expect(Object.keys(value)).toEqual(['__proto__']);
    expect(value.role).toBeUndefined();
  });

  it('takes a whole surrogate pair', () => {
    expect(parseJson(String.raw`"\ud83d\ude00"`)).toBe('😀');
  });

  it.each(['', 'nul', '"\\ud800"', '{"a', '1e999'])(
    'names the body where no field of %j is at fault',
    (text) => {
      expect(refusalOf(text).errors.map(({ field }) => field)).toEqual(['body']);
    },
  );
});

/** Every example in src/ runs as it stands and gives what its comment promises. */
import { describe, expect, test } from 'vitest';
import { readDocstring } from '../../scripts/describe/docstring.ts';
import { brokenPromises, readPromises } from '../../scripts/describe/expected.ts';
import { runExample, splitExample } from '../../scripts/describe/run-example.ts';

const texts = import.meta.glob<string>('../../src/**/*.ts', {
  eager: true,
  query: '?raw',
  import: 'default',
});
const modules = import.meta.glob<Record<string, unknown>>('../../src/**/*.ts');
// A module that does not load fails its own examples only.
const loaded = await Promise.allSettled(Object.values(modules).map((load) => load()));
const functions: Record<string, unknown> = Object.assign(
  {},
  ...loaded.map((one) => (one.status === 'fulfilled' ? one.value : {})),
);

const documented = /(\/\*\*(?:(?!\*\/)[\s\S])*?\*\/)\nexport function (\w+)/g;
const examples = Object.entries(texts).flatMap(([file, text]) =>
  [...text.matchAll(documented)].flatMap(([, comment = '', name = '']) => {
    const { example } = readDocstring(comment);
    return example === '' ? [] : [{ name, file: file.replace('../../', ''), ...splitExample(example) }];
  }),
);

describe('examples', () => {
  test.each(examples)('$name of $file', ({ name, code, promise }) => {
    expect(functions[name], `${name} does not load`).toBeTypeOf('function');
    const promises = readPromises(promise);
    expect(promises.length, 'the example promises nothing in a comment at its end').toBeGreaterThan(0);
    const { result, given } = runExample(code, name, functions);
    expect(given, `the example does not call ${name}`).not.toBeNull();
    expect(brokenPromises(result, promises)).toEqual([]);
  });
});

/** Every public function over HTTP: same names, same errors, nothing stored, the server never held up. Needs the build. */
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { z } from '@hono/zod-openapi';
import fc from 'fast-check';
import { afterAll, describe, expect, it, test } from 'vitest';
import { calculationAnswerer } from '../../api/calculations/answer-calculation.ts';
import { calculationProcesses } from '../../api/calculations/calculation-processes.ts';
import type { CoreDescription, FunctionDescription } from '../../api/calculations/description.ts';
import { withCalculations } from '../../api/calculations/openapi-paths.ts';
import { openApiDocument } from '../../api/http/openapi.ts';
import { ProblemError } from '../../api/problem.ts';
import { StatisticsError } from '../../src/errors.ts';
import * as core from '../../src/index.ts';
import type { FuzzedFunctions } from '../src/bad-input/hostile.ts';
import { openApp, problemOf } from './support.ts';

const descriptionFile = new URL('../../dist/core-description.json', import.meta.url).pathname;
const description: CoreDescription = JSON.parse(readFileSync(descriptionFile, 'utf8'));
const programFile = new URL('../../dist/server/calculation-process.js', import.meta.url).pathname;
const callable = description.functions.filter(({ schemas }) => schemas !== null);

const processes = (settings: { processes?: number; milliseconds?: number } = {}) =>
  calculationProcesses({ description, programFile, descriptionFile, ...settings });
const calculations = processes();
const app = openApp({ calculations });
afterAll(() => {
  calculations.end();
  return app.close();
});

const post = (name: string, body: string, headers: Record<string, string> = {}): Promise<Response> =>
  app.fetch(
    new Request(`http://127.0.0.1/api/calculations/${name}`, {
      method: 'POST',
      headers: { 'Content-Type': 'application/json', ...headers },
      body,
    }),
  );
const refused = async (name: string, given: unknown) =>
  problemOf(await post(name, typeof given === 'string' ? given : JSON.stringify(given)));

describe('the description', () => {
  it('holds every exported function', () => {
    const exported = Object.entries(core)
      .filter(([, value]) => typeof value === 'function' && (value as unknown) !== StatisticsError)
      .map(([name]) => name);
    expect(description.functions.map(({ name }) => name).sort()).toEqual(exported.sort());
  });

  it('keeps from HTTP only what works on typed arrays or calls back', () => {
    const kept = description.functions.filter(({ schemas }) => schemas === null);
    for (const { name, signature } of kept) expect(`${name} ${signature}`).toMatch(/Columns|Array\b|=>/);
    expect(kept.length).toBeLessThan(callable.length / 2);
  });
});

describe('each calculation', () => {
  test.each(callable)('$name gives its example as the function does, in the described form', async (one) => {
    const response = await post(one.name, JSON.stringify(one.example.arguments));
    const text = await response.text();
    expect(response.status, text).toBe(200);
    expect(response.headers.get('content-type')).toBe('application/json');
    const result = JSON.parse(text);
    const given = one.parameters.map(({ name }) => one.example.arguments[name]);
    const direct = (core as unknown as Record<string, (...all: unknown[]) => unknown>)[one.name]!(...given);
    expect(result).toEqual(JSON.parse(JSON.stringify(direct)));
    expect(formOf(one).safeParse(result).error?.issues ?? []).toEqual([]);
  });

  const formOf = ({ schemas }: FunctionDescription): z.ZodType =>
    z.fromJSONSchema({
      ...schemas!.result,
      $defs: description.definitions,
    } as z.core.JSONSchema.JSONSchema);
});

describe('a calculation that is refused', () => {
  it.each<[string, string, unknown, string, string]>([
    [
      'a text for a number',
      'movingRanges',
      { values: [3, 'x'] },
      'values.1',
      'must be a number or null, not a text',
    ],
    ['a missing list', 'movingRanges', {}, 'values', 'is missing; give a list'],
    ['a misspelt field', 'movingRanges', { values: [3], spam: 2 }, 'spam', 'is not known here'],
    [
      'an unknown name',
      'meanAndRangeChart',
      { subgroups: [[1, 2]], options: { method: 'r' } },
      'options.method',
      'must be one of "range"',
    ],
    [
      'a name that no form has',
      'expectedFalseAlarms',
      { charts: [{ scheme: { kind: 'spam' }, samplesPerHour: 1, hoursPerWeek: 96 }] },
      'charts.0.scheme.kind',
      'must be one of "run-rules", "ewma", "cusum"',
    ],
    [
      'a name that every form needs',
      'expectedFalseAlarms',
      { charts: [{ scheme: {}, samplesPerHour: 1, hoursPerWeek: 96 }] },
      'charts.0.scheme.kind',
      'is missing; give one of "run-rules", "ewma", "cusum"',
    ],
    [
      'a list for an object',
      'limitPassed',
      { value: 1, options: [] },
      'options',
      'must be an object, not a list',
    ],
  ])('names the field of %s', async (_, name, given, field, words) => {
    const problem = await refused(name, given);
    expect(problem).toMatchObject({ status: 422, title: 'Not acceptable as it stands' });
    expect(problem.errors.map((error) => error.field)).toContain(field);
    expect(problem.errors.find((error) => error.field === field)?.message).toContain(words);
  });

  it('carries code, field and sentence of the error that the function throws', async () => {
    const problem = await refused('movingRanges', { values: [3, 5], span: 1 });
    expect(problem).toMatchObject({ status: 422 });
    expect(problem.errors).toEqual([
      { field: 'span', code: 'out-of-range', message: expect.stringContaining('2 to 100') },
    ]);
    expect(problem.detail).toBe(problem.errors[0]!.message);
  });

  it('is a good answer where valid data have no statistic', async () => {
    const response = await post('meanAndRangeChart', '{"subgroups":[[1,1],[1,1]]}');
    expect(response.status).toBe(200);
    expect(await response.json()).toMatchObject({ available: false, reason: 'no-variation' });
  });

  it('says where JSON is malformed, and what type and size it takes', async () => {
    expect(await refused('movingRanges', '{"values":[1,]}')).toMatchObject({ status: 400 });
    expect(await refused('movingRanges', '{"values":[1e999]}')).toMatchObject({ status: 422 });
    expect(await problemOf(await post('movingRanges', '{}', { 'Content-Type': 'text/plain' }))).toMatchObject(
      {
        status: 415,
      },
    );
    const long = `{"values":[${'1,'.repeat(600_000)}1]}`;
    expect(await refused('movingRanges', long)).toMatchObject({ status: 413 });
  });

  it('names what there is', async () => {
    const unknown = await refused('sixthSense', {});
    expect(unknown).toMatchObject({ status: 404, detail: 'There is no calculation "sixthSense".' });
    expect(await refused('evaluateReadings', {})).toMatchObject({
      status: 404,
      detail: expect.stringContaining('typed arrays'),
    });
    const read = await app.fetch(new Request('http://127.0.0.1/api/calculations/movingRanges'));
    expect(await problemOf(read)).toMatchObject({ status: 405 });
    const list = await app.call('GET /api/calculations');
    expect(list.map(({ name }) => name)).toEqual(callable.map(({ name }) => name));
    expect(list[0]).toMatchObject({ address: `/api/calculations/${list[0]!.name}` });
  });
});

describe('a heavy calculation', () => {
  const heavy = JSON.stringify({
    values: Array.from({ length: 100_000 }, (_, i) => ((i * 7919) % 10_007) / 1000),
  });

  it('does not hold up the server', async () => {
    let turns = 0;
    const ticking = setInterval(() => {
      turns += 1;
    }, 2);
    const began = performance.now();
    const response = await post('andersonDarling', heavy);
    const took = performance.now() - began;
    clearInterval(ticking);
    expect(response.status).toBe(200);
    // Far less than one turn in two milliseconds, so that a busy machine passes; a held loop gives next to none.
    expect(turns).toBeGreaterThan(took / 20);
  });

  it('waits its turn, and the queue has an end', async () => {
    const narrow = processes({ processes: 1 });
    const given = '{"values":[1,2]}';
    const answers = await Promise.allSettled(
      Array.from({ length: 60 }, () => narrow.run('movingRanges', given)),
    );
    const done = answers.filter(({ status }) => status === 'fulfilled').length;
    expect(done).toBe(51);
    expect(answers.at(-1)).toMatchObject({ reason: { problem: { status: 503 } } });
    expect(await narrow.run('movingRanges', given)).toBe('[null,1]');
    narrow.end();
  });
});

describe('a process', () => {
  const folder = mkdtempSync(join(tmpdir(), 'runtrue-process-'));
  const mad = calculationProcesses({
    description,
    descriptionFile,
    programFile: join(folder, 'mad.cjs'),
    processes: 1,
    milliseconds: 6000,
  });
  writeFileSync(
    join(folder, 'mad.cjs'),
    `process.on('message', ({ body }) => {
      if (body === 'hang') for (;;);
      if (body === 'grow') for (const all = []; ; ) all.push(new Array(1e7).fill(0));
      if (body === 'end') process.exit();
      process.send(body === 'fault' ? { fault: 'broken' } : { result: body });
    });`,
  );
  afterAll(() => {
    mad.end();
    rmSync(folder, { recursive: true });
  });

  it.each<[string, object]>([
    ['hang', { problem: { status: 422, detail: expect.stringContaining('it took longer than 6 s') } }],
    ['grow', { problem: { status: 422, detail: expect.stringContaining('more memory') } }],
    ['end', { problem: { status: 422, errors: [{ field: 'body' }] } }],
    ['fault', { message: 'broken' }],
  ])('that is told to %s ends only the call that it worked on', async (body, error) => {
    const both = await Promise.allSettled([mad.run('it', body), mad.run('it', '1')]);
    expect(both).toMatchObject([{ reason: error }, { value: '1' }]);
  });
});

describe('hostile arguments over HTTP', () => {
  const topics = import.meta.glob<{ fuzzed: FuzzedFunctions }>('../src/bad-input/*.fuzz.ts', { eager: true });
  const fuzzed: FuzzedFunctions = Object.assign({}, ...Object.values(topics).map((topic) => topic.fuzzed));
  const answer = calculationAnswerer(description, core);

  test.each(callable.filter(({ name }) => name in fuzzed))('$name refuses or answers, never fails', (one) => {
    fc.assert(
      fc.property(fuzzed[one.name]!, (given) => {
        const named = Object.fromEntries(one.parameters.map(({ name }, place) => [name, given[place]]));
        try {
          expect(() => JSON.parse(answer(one.name, JSON.stringify(named)))).not.toThrow(SyntaxError);
        } catch (error) {
          if (!(error instanceof ProblemError || error instanceof StatisticsError)) throw error;
        }
      }),
      { numRuns: 12 },
    );
  });
});

describe('the OpenAPI document with the calculations', () => {
  const whole = JSON.parse(JSON.stringify(withCalculations(openApiDocument('1.2.3'), description)));

  it('describes each by summary, source, forms and example', () => {
    for (const one of callable) {
      const { post } = whole.paths[`/api/calculations/${one.name}`];
      expect(post.summary).toBe(one.summary);
      expect(post.description).toContain(`Source: ${one.source}`);
      const body = post.requestBody.content['application/json'];
      expect(body.example).toEqual(one.example.arguments);
      expect(Object.keys(body.schema.properties)).toEqual(one.parameters.map(({ name }) => name));
      expect(post.responses['200'].content['application/json'].example).toEqual(one.example.result);
      expect(post.responses['422'].content).toHaveProperty(['application/problem+json']);
    }
  });

  it('refers only to what it defines, and gives each operation its own id', () => {
    const text = JSON.stringify(whole);
    for (const [, name] of text.matchAll(/"\$ref":"#\/components\/schemas\/([^"]+)"/g))
      expect(whole.components.schemas, name).toHaveProperty([name!]);
    expect(text).not.toContain('#/$defs/');
    const ids = [...text.matchAll(/"operationId":"(\w+)"/g)].map(([, id]) => id);
    expect(new Set(ids).size).toBe(ids.length);
  });
});

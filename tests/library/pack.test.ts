/** The tarball of "npm pack" in an empty project: what is in it, Node.js, types, a page, a worker, and no I/O. Needs the build. */
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { createServer } from 'node:http';
import type { AddressInfo } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { constants, createContext, runInContext } from 'node:vm';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { CoreDescription } from '../../api/calculations/description.ts';
import { splitExample } from '../../scripts/describe/run-example.ts';
import { openBrowser } from '../browser/browser.ts';
import { firstDifference } from './first-difference.ts';

const root = new URL('../..', import.meta.url).pathname;
const description: CoreDescription = JSON.parse(readFileSync(`${root}dist/core-description.json`, 'utf8'));
const folder = mkdtempSync(join(tmpdir(), 'runtrue-library-'));
const module = join(folder, 'node_modules/runtrue/dist/core/index.js');
afterAll(() => rmSync(folder, { recursive: true }));

const run = (program: string, given: readonly string[]): string =>
  execFileSync(program, given, { cwd: folder, encoding: 'utf8', stdio: ['ignore', 'pipe', 'pipe'] });

interface Packed {
  readonly filename: string;
  readonly files: readonly { readonly path: string }[];
}
let packed: Packed;

beforeAll(() => {
  // Without scripts: what was built last is what is tested.
  const list = execFileSync('npm', ['pack', '--ignore-scripts', '--json', '--pack-destination', folder], {
    cwd: root,
    encoding: 'utf8',
  });
  packed = (JSON.parse(list) as Packed[])[0]!;
  writeFileSync(join(folder, 'package.json'), '{ "name": "consumer", "private": true, "type": "module" }');
  run('npm', ['install', '--offline', '--no-audit', '--no-fund', `./${packed.filename}`]);
});

describe('the packed library', () => {
  it('holds the module, its types and papers, and asks for no other package', () => {
    const others = packed.files
      .map(({ path }) => path)
      .filter(
        (path) => !/^(?:package\.json|README\.md|LICENSE)$|^dist\/core\/(?:index\.js$|.+\.d\.ts$)/.test(path),
      );
    expect(others).toEqual([]);
    const manifest = JSON.parse(readFileSync(join(folder, 'node_modules/runtrue/package.json'), 'utf8'));
    expect({
      ...manifest.dependencies,
      ...manifest.peerDependencies,
      ...manifest.optionalDependencies,
    }).toEqual({});
    expect(manifest.scripts).not.toHaveProperty('install');
    const installed = JSON.parse(run('npm', ['ls', '--all', '--json']));
    expect(Object.keys(installed.dependencies)).toEqual(['runtrue']);
    expect(installed.dependencies.runtrue.dependencies).toBeUndefined();
  });

  it('is imported by its name in Node.js', () => {
    const code = `
      import { movingRanges, StatisticsError } from 'runtrue';
      let refused;
      try { movingRanges([1], 1); } catch (error) { refused = error instanceof StatisticsError && error.argument; }
      console.log(JSON.stringify([movingRanges([3, 5, null, 4, 1]), refused]));`;
    expect(JSON.parse(run(process.execPath, ['--input-type=module', '--eval', code]))).toEqual([
      [null, 2, null, null, 3],
      'span',
    ]);
  });

  it.each([
    ['NodeNext', 'NodeNext'],
    ['ESNext', 'Bundler'],
  ])('gives its types to a strict consumer (module %s, resolution %s)', (moduleKind, moduleResolution) => {
    writeFileSync(
      join(folder, 'consumer.ts'),
      `import { type ChartPair, meanAndRangeChart, type Outcome, StatisticsError } from 'runtrue';
       const chart: Outcome<ChartPair> = meanAndRangeChart([[10.1, 10.3], [10.2, null]], { method: 'range' });
       export const text: string = chart.available ? chart.location.statistic : chart.reason;
       export const upper: number | null | undefined =
         chart.available ? chart.location.points[0]?.limits?.upperControlLimit : null;
       // @ts-expect-error a chart needs readings, not a text
       meanAndRangeChart('10.1');
       // @ts-expect-error an unknown method
       meanAndRangeChart([[1, 2]], { method: 'guess' });
       export const code: string = new StatisticsError('empty', 'values', []).code;
       // @ts-expect-error nothing here stands for any
       export const none: undefined = chart;`,
    );
    const options = { strict: true, exactOptionalPropertyTypes: true, noUncheckedIndexedAccess: true };
    const compilerOptions = {
      ...options,
      module: moduleKind,
      moduleResolution,
      target: 'ES2023',
      lib: ['ES2023'],
      types: [],
      noEmit: true,
      skipLibCheck: false,
    };
    writeFileSync(join(folder, 'tsconfig.json'), JSON.stringify({ compilerOptions, files: ['consumer.ts'] }));
    expect(run(process.execPath, [`${root}node_modules/typescript/bin/tsc`, '-p', '.'])).toBe('');
  });
});

describe('the module', () => {
  const text = () => readFileSync(module, 'utf8');
  const tail = /\nexport \{([^}]*)\};\s*$/;

  it('imports nothing and names no clock and no hidden randomness', () => {
    expect(tail.test(text())).toBe(true);
    expect(text().match(/^\s*import\b|\bimport\(|\brequire\(/m)).toBeNull();
    const code = text().replace(/\/\*[\s\S]*?\*\/|\/\/.*$/gm, '');
    expect(
      code.match(/Math\.random|Date\.now|new Date\(\)|performance\.now|\bfetch\(|\bimport\.meta/),
    ).toBeNull();
  });

  it('runs every example where there is nothing but the language: no console, no network, no file, no timer', () => {
    const context = createContext(constants.DONT_CONTEXTIFY);
    // The one thing that the engine itself puts there.
    runInContext('delete globalThis.console', context);
    const names = tail.exec(text())![1]!;
    runInContext(
      text().replace(tail, `\nObject.assign(globalThis, {${names.replace(/(\w+) as (\w+)/g, '$2: $1')}});`),
      context,
    );
    expect(runInContext('typeof console + typeof fetch + typeof setTimeout + typeof process', context)).toBe(
      'undefined'.repeat(4),
    );
    for (const { name, example } of description.functions) {
      // A block of its own, so that two examples may use the same names.
      const { code } = splitExample(example.code);
      expect(() => runInContext(`{ ${code} }`, context), name).not.toThrow();
    }
  });
});

describe('in a browser', () => {
  const calls = description.functions
    .filter(({ schemas }) => schemas !== null)
    .map(({ name, parameters, example }) => ({
      name,
      // Only as many as the example gives: an argument left out is not null.
      given: parameters
        .filter((parameter) => parameter.name in example.arguments)
        .map((parameter) => example.arguments[parameter.name]),
    }));
  const files: Record<string, { type: string; text: () => string }> = {
    '/': {
      type: 'text/html',
      text: () => `<!doctype html><title>Consumer</title>
        <script type="importmap">{ "imports": { "runtrue": "/runtrue.js" } }</script>
        <script type="module">import * as core from 'runtrue'; globalThis.core = core;</script>`,
    },
    '/runtrue.js': { type: 'text/javascript', text: () => readFileSync(module, 'utf8') },
    '/worker.js': {
      type: 'text/javascript',
      text: () => `import * as core from '/runtrue.js';
        onmessage = ({ data }) => postMessage(data.map(({ name, given }) => JSON.stringify(core[name](...given))));`,
    },
  };

  it('gives the same numbers in a page and in a module worker', async () => {
    const server = createServer((request, response) => {
      const file = files[request.url ?? ''];
      response.writeHead(file ? 200 : 404, { 'Content-Type': file?.type ?? 'text/plain' });
      response.end(file?.text() ?? '');
    });
    await new Promise<void>((done) => server.listen(0, '127.0.0.1', done));
    const browser = await openBrowser();
    try {
      const page = await browser.newPage();
      await page.goto(`http://127.0.0.1:${(server.address() as AddressInfo).port}/`);
      await page.waitForFunction('globalThis.core');
      const inPage = (await page.evaluate(
        `${JSON.stringify(calls)}.map(({ name, given }) => JSON.stringify(core[name](...given)))`,
      )) as string[];
      const inWorker = (await page.evaluate(`new Promise((done, failed) => {
        const worker = new Worker('/worker.js', { type: 'module' });
        worker.onmessage = ({ data }) => done(data);
        worker.onerror = ({ message }) => failed(new Error(message));
        worker.postMessage(${JSON.stringify(calls)});
      })`)) as string[];
      expect(inWorker).toEqual(inPage);
      const expected = new Map(description.functions.map(({ name, example }) => [name, example.result]));
      const differences = calls.flatMap(({ name }, place) => {
        const found = firstDifference(JSON.parse(inPage[place]!), expected.get(name), name);
        return found === null ? [] : [found];
      });
      expect(differences).toEqual([]);
    } finally {
      await browser.close();
      server.close();
    }
  });
});

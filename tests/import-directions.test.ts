/** Who may look at whom: the table of DEVELOPERS.md, held against every import, types included. */
import { readdirSync, readFileSync } from 'node:fs';
import { dirname, normalize } from 'node:path';
import { describe, expect, it } from 'vitest';

const root = new URL('..', import.meta.url).pathname;

interface Import {
  readonly file: string;
  readonly from: string;
  readonly typesOnly: boolean;
}

const importStatement =
  /(?:^|\n)\s*(?:import|export)\s+(type\s)?[^;'"]*?from\s+'([^']+)'|import\(\s*'([^']+)'\s*\)/g;

function importsOf(room: string): Import[] {
  const files = readdirSync(root + room, { recursive: true, encoding: 'utf8' })
    .filter((file) => /\.tsx?$/.test(file))
    .map((file) => `${room}/${file.replaceAll('\\', '/')}`);
  return files.flatMap((file) =>
    [...readFileSync(root + file, 'utf8').matchAll(importStatement)].map((found) => {
      const from = found[2] ?? found[3]!;
      return {
        file,
        from: from.startsWith('.') ? normalize(`${dirname(file)}/${from}`) : from,
        typesOnly: found[1] !== undefined,
      };
    }),
  );
}

const against = (room: string, allowed: (one: Import) => boolean): string[] =>
  importsOf(room)
    .filter((one) => !allowed(one))
    .map(({ file, from }) => `${file} imports ${from}`);

describe('import directions', () => {
  it('finds the imports at all', () => {
    for (const room of ['src', 'api', 'web', 'demo-data']) expect(importsOf(room).length).toBeGreaterThan(20);
  });
  it('src/ sees only itself, and simple-statistics in samples/', () => {
    const allowed = ({ file, from }: Import) =>
      from.startsWith('src/') || (from === 'simple-statistics' && file.startsWith('src/samples/'));
    expect(against('src', allowed)).toEqual([]);
  });
  it('api/ sees src/ and itself', () => {
    const barred = /^(web|tests|demo-data)\/|^(simple-statistics|preact|chart\.js)/;
    expect(against('api', ({ from }) => !barred.test(from))).toEqual([]);
  });
  it('web/ sees src/, itself, and only the types of the contract and the schemas', () => {
    const barred = /^(tests|demo-data)\/|^(node:|simple-statistics|zod|hono)/;
    const allowed = ({ from, typesOnly }: Import) =>
      from.startsWith('api/') ? typesOnly && /^api\/(contract|schemas)\.ts$/.test(from) : !barred.test(from);
    expect(against('web', allowed)).toEqual([]);
  });
  it('demo-data/ sees src/, api/ and itself', () => {
    expect(against('demo-data', ({ from }) => !/^(web|tests)\//.test(from))).toEqual([]);
  });
});

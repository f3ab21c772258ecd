/**
 * The last step of the build: describes every public function of src/ from its types and docstring, for the server
 * (dist/core-description.json), and writes the reference page (dist/web/reference.html).
 */
import { createHash } from 'node:crypto';
import { existsSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { fileURLToPath, pathToFileURL } from 'node:url';
import type { CoreDescription } from '../../api/calculations/description.ts';
import { foldersOf } from './folders.ts';
import { referencePage } from './reference-page.ts';

/** This runs as dist/server/describe.js. */
const root = fileURLToPath(new URL('../..', import.meta.url)).replace(/[\\/]$/, '');
const target = `${root}/dist/core-description.json`;
const shell = `${root}/dist/web/reference.html`;
const read = (file: string): string => readFileSync(file, 'utf8');

/** Of everything that the description is drawn from; the same digest saves the second reading of src/. */
function digestOfSources(): string {
  const hash = createHash('sha256');
  const files = ['src', 'scripts/describe'].flatMap((folder) =>
    readdirSync(`${root}/${folder}`, { recursive: true, encoding: 'utf8' })
      .filter((file) => file.endsWith('.ts'))
      .sort()
      .map((file) => `${folder}/${file}`),
  );
  // The examples run from the built core, so it belongs to what they were drawn from.
  for (const file of [...files, 'dist/core/index.js', 'DEVELOPERS.md', 'node_modules/ts-morph/package.json'])
    hash.update(`${file}\n${read(`${root}/${file}`)}\n`);
  return hash.digest('hex');
}

async function describeCore(): Promise<CoreDescription> {
  const digest = digestOfSources();
  const before = existsSync(target) ? (JSON.parse(read(target)) as CoreDescription) : null;
  if (before?.digest === digest) return before;
  // Read late: the compiler behind it takes a second to load.
  const { readCore } = await import('./read-core.ts');
  const core = await import(pathToFileURL(`${root}/dist/core/index.js`).href);
  const { functions, definitions } = readCore(root, core);
  const folders = foldersOf(functions, read(`${root}/DEVELOPERS.md`));
  const description = { digest, folders, functions, definitions };
  writeFileSync(target, JSON.stringify(description));
  return description;
}

try {
  const description = await describeCore();
  writeFileSync(shell, referencePage(read(shell), description));
} catch (error) {
  console.error((error as Error).message);
  process.exitCode = 1;
}

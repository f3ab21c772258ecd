// Mutation testing of the core: `npm run mutation`, or of some folders: `npm run mutation -- wear charts/trends`.
import { spawnSync } from 'node:child_process';
import { existsSync, mkdirSync } from 'node:fs';
import { dirname } from 'node:path';
import { notesFile, summarise } from './summary.mjs';

const folders = process.argv.slice(2);
const unknown = folders.find((folder) => !existsSync(`src/${folder}`));
if (unknown !== undefined) {
  console.error(
    `There is no folder src/${unknown}. Name folders of src/, as in: npm run mutation -- wear charts/trends`,
  );
  process.exit(1);
}

mkdirSync(dirname(notesFile), { recursive: true });
const { status } = spawnSync('npx', ['stryker', 'run', 'tests/mutation/stryker.config.mjs'], {
  stdio: 'inherit',
  env: { ...process.env, MUTATION_FOLDERS: folders.join(',') },
});
if (status !== 0) process.exit(status ?? 1);
summarise();

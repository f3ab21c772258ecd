import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { nodeVersionProblem } from './node-version.ts';

const problem = nodeVersionProblem(process.versions.node);
if (problem === null) {
  // Imported late: an old Node.js could not even read it.
  const { start } = await import('./start.ts');
  await start({
    environment: process.env,
    builtFolder: join(dirname(fileURLToPath(import.meta.url)), '..'),
    databaseName: 'plant.sqlite',
    demo: false,
  });
} else {
  process.stderr.write(`${problem}\n`);
  process.exitCode = 1;
}

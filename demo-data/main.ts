/** Entry of `npm run demo`: the server on the demo plant, loaded at the first start. */
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { nodeVersionProblem } from '../api/node-version.ts';

const problem = nodeVersionProblem(process.versions.node);
if (problem === null) {
  // Imported late: an old Node.js could not even read them.
  const [{ start }, { DEMO_DATABASE, isUnfinishedDemo, prepareDemo }] = await Promise.all([
    import('../api/start.ts'),
    import('./prepare.ts'),
  ]);
  await start({
    environment: process.env,
    builtFolder: join(dirname(fileURLToPath(import.meta.url)), '..'),
    databaseName: DEMO_DATABASE,
    demo: true,
    isUnfinished: isUnfinishedDemo,
    prepare: prepareDemo,
  });
} else {
  process.stderr.write(`${problem}\n`);
  process.exitCode = 1;
}

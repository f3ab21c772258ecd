// Runs in Stryker's copy of the tree: puts each test and the instrumented core it imports into one file beside the
// test. Loading some two hundred modules anew for each mutant would take most of the time.
import { basename, dirname } from 'node:path';
import { build } from 'vite';
import { createVitest } from 'vitest/node';

const vitest = await createVitest('test', { config: 'tests/mutation/vitest.config.ts', watch: false });
const tests = (await vitest.globTestSpecifications()).map(({ moduleId }) => moduleId);
await vitest.close();

for (const test of tests)
  await build({
    configFile: false,
    logLevel: 'warn',
    build: {
      ssr: test,
      outDir: dirname(test),
      emptyOutDir: false,
      rolldownOptions: {
        output: { entryFileNames: basename(test).replace('.test.ts', '.bundle.mjs'), codeSplitting: false },
      },
    },
  });

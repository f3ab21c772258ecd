// Runs in Stryker's copy of the tree: puts all tests and the instrumented core into one file, which a process loads
// once. Beside the reference cases, because that is where they look for their data.
import { resolve } from 'node:path';
import { build } from 'vite';
import { isDrawn } from './sample.mjs';

const here = (file) => resolve('tests/mutation', file);
const standIns = { vitest: here('in-process.ts'), 'fast-check': here('fewer-cases.ts') };

await build({
  configFile: false,
  logLevel: 'warn',
  plugins: [
    {
      name: 'stand-ins',
      enforce: 'pre',
      resolveId: (source, importer) => (importer === standIns[source] ? undefined : standIns[source]),
      transform(code, file) {
        if (!file.startsWith(resolve('src')) || file.includes('?')) return undefined;
        // Mutants that are not drawn leave no switch behind, so that a small sample runs at nearly full speed.
        const switched = code
          .replaceAll(/stryMutAct_\w+\("(\d+)"\)/g, (whole, mutant) => (isDrawn(mutant) ? whole : 'false'))
          .replaceAll(/stryCov_\w+\(("\d+"(?:, "\d+")*)\)/g, (_, mutants) => {
            const drawn = JSON.parse(`[${mutants}]`).filter(isDrawn);
            return drawn.length > 0 ? `countMutants(${drawn})` : 'undefined';
          });
        return {
          code: `${switched}\nimport { countMutants } from ${JSON.stringify(here('reach.ts'))};`,
          map: null,
        };
      },
    },
  ],
  build: {
    ssr: here('all-tests.ts'),
    outDir: 'tests/reference',
    emptyOutDir: false,
    rolldownOptions: { output: { entryFileNames: 'all-tests.mjs', codeSplitting: false } },
  },
});

import { availableParallelism } from 'node:os';

/** Folders of src/; without any, all of them. */
const folders = (process.env.MUTATION_FOLDERS || '**').split(',');
const place = process.env.MUTATION_PLACE ?? 'dist/mutation';

export default {
  mutate: [...folders.map((folder) => `src/${folder}/**/*.ts`), '!src/index.ts'],
  testRunner: 'in-process',
  plugins: ['./tests/mutation/test-runner.mjs'],
  buildCommand: 'node tests/mutation/bundle-tests.mjs',
  coverageAnalysis: 'perTest',
  // What is computed while the code loads would need it to be loaded anew for each mutant.
  ignoreStatic: true,
  concurrency: availableParallelism(),
  // Generous, for a busy machine: nearly all endless loops are ended by Stryker's limit of steps.
  timeoutMS: 6_000,
  timeoutFactor: 5,
  dryRunTimeoutMinutes: 30,
  tempDirName: `${place}/sandbox`,
  // Stryker rewrites the compiler's options, which nothing here reads.
  tsconfigFile: 'dist/mutation/none.json',
  // The copy of the tree holds what the tests of the core need.
  ignorePatterns: [
    '/dist',
    '/data',
    '/web',
    '/api',
    '/demo-data',
    '/tests/*',
    '!/tests/src',
    '!/tests/reference',
    '!/tests/mutation',
  ],
  reporters: ['notes', 'html', 'progress-append-only'],
  htmlReporter: { fileName: `${place}/report.html` },
  allowConsoleColors: false,
};

import { defineConfig } from 'vitest/config';

/**
 * The tests that mutation testing runs: those of the core, which need neither a build nor a browser. MUTATION_TESTS
 * narrows them, for a quick look at one folder. Once bundle-tests.mjs has run, in Stryker's copy of the tree, the
 * bundles stand in for the tests.
 */
const asked = process.env.MUTATION_TESTS?.split(',') ?? [
  'tests/src/**/*.test.ts',
  'tests/reference/**/*.test.ts',
];

export default defineConfig({
  test: {
    include: process.env.STRYKER_MUTATOR_WORKER === undefined ? asked : ['tests/**/*.bundle.mjs'],
    testTimeout: 60_000,
  },
});

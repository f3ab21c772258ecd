import { defineConfig } from 'vitest/config';

/**
 * The tests that mutation testing runs: those of the core, which need neither a build nor a browser. MUTATION_TESTS
 * narrows them, for a quick look at one folder.
 */
const asked = process.env.MUTATION_TESTS?.split(',');

export default defineConfig({
  test: {
    include: asked ?? ['tests/src/**/*.test.ts', 'tests/reference/**/*.test.ts'],
    testTimeout: 60_000,
  },
});

import { defineConfig } from 'vitest/config';

export default defineConfig({
  test: {
    include: ['tests/**/*.test.ts'],
    setupFiles: ['tests/property-seed.ts'],
    globalSetup: ['tests/postgres/shared-cluster.ts'],
    testTimeout: 60_000,
    hookTimeout: 120_000,
    // Two cores: the browser suite and the rest share them.
    maxWorkers: 2,
  },
});

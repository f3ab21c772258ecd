import { defineConfig } from 'vite';

/**
 * The statistics core as a library: one ES module with nothing to import, so that it runs as it stands in Node.js, in
 * a page, in a worker and behind any bundler. Left readable; who bundles it makes it small.
 */
export default defineConfig({
  publicDir: false,
  build: {
    lib: { entry: 'src/index.ts', formats: ['es'], fileName: 'index' },
    outDir: 'dist/core',
    emptyOutDir: true,
    target: 'es2023',
    minify: false,
  },
});

import { defineConfig } from 'vite';

/** What runs on Node.js: the server, the demo plant, the benches. Packages stay outside the bundle. */
export default defineConfig({
  build: {
    ssr: true,
    outDir: 'dist/server',
    emptyOutDir: true,
    target: 'node20',
    rolldownOptions: {
      input: {
        main: 'api/main.ts',
        demo: 'demo-data/main.ts',
        bench: 'tests/bench/main.ts',
      },
    },
  },
});

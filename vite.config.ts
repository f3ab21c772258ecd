import { defineConfig } from 'vite';

/** The page. */
export default defineConfig({
  root: 'web',
  build: {
    outDir: '../dist/web',
    emptyOutDir: true,
    target: 'es2022',
    sourcemap: false,
    rolldownOptions: { input: ['web/index.html', 'web/reference.html'] },
  },
  server: { proxy: { '/api': 'http://127.0.0.1:8080' } },
});

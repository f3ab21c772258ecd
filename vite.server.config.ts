import { defineConfig } from 'vite';

/** What runs on Node.js: the server, its process for calculations, the demo plant, the description of the core, the benches. Packages stay outside the bundle. */
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
        'calculation-process': 'api/calculations/calculation-process.ts',
        describe: 'scripts/describe/main.ts',
        bench: 'tests/bench/main.ts',
        attack: 'tests/attack/main.ts',
        load: 'tests/bench/load/main.ts',
        faults: 'tests/faults/main.ts',
        'soak-server': 'tests/faults/soak-server.ts',
        verify: 'api/audit/main.ts',
        backup: 'api/backup/backup-main.ts',
        restore: 'api/backup/restore-main.ts',
        move: 'api/move/main.ts',
        archive: 'api/archive/main.ts',
        'administrator-link': 'api/sign-in/administrator-link-main.ts',
      },
    },
  },
});

/** Tests of the API once more, over PostgreSQL. `npm run test:postgres` runs all of them so. */
import { afterAll, expect, it } from 'vitest';

const before = process.env.RUNTRUE_TEST_ENGINE;
process.env.RUNTRUE_TEST_ENGINE = 'postgres';
const { openTestPlant } = await import('../api/test-plant.ts');
await import('../api/corrections.test.ts');
await import('../api/events-and-plant.test.ts');
await import('../api/app.test.ts');

// Without this the tests could all have run over SQLite, and nobody would know.
it('runs over PostgreSQL', async () => {
  const plant = await openTestPlant();
  const row = await plant.store.sql.one<{ version: string }>('select version() as version');
  expect(row?.version).toMatch(/^PostgreSQL /);
  await plant.close();
});

afterAll(() => {
  if (before === undefined) delete process.env.RUNTRUE_TEST_ENGINE;
  else process.env.RUNTRUE_TEST_ENGINE = before;
});

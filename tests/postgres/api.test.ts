/** Tests of the API once more, over PostgreSQL. `npm run test:postgres` runs all of them so. */
import { afterAll } from 'vitest';

const before = process.env.RUNTRUE_TEST_ENGINE;
process.env.RUNTRUE_TEST_ENGINE = 'postgres';
await import('../api/corrections.test.ts');
await import('../api/events-and-plant.test.ts');
await import('../api/app.test.ts');
afterAll(() => {
  if (before === undefined) delete process.env.RUNTRUE_TEST_ENGINE;
  else process.env.RUNTRUE_TEST_ENGINE = before;
});

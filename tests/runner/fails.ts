import { expect, inject, it } from 'vitest';

// With a database server, as most runs have one.
it('fails', async () => {
  await fetch(inject('postgresStarter'));
  expect(1).toBe(2);
});

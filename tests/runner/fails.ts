import { expect, inject, it } from 'vitest';

// With a database server, as most runs have one.
it('fails where it is told to', async () => {
  await fetch(inject('postgresStarter'));
  expect(process.env.FAILS).toBe('no');
});

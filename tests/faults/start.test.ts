/** The database goes while a server starts, which then says so and ends. */
import { rmSync } from 'node:fs';
import { expect, it } from 'vitest';
import { emptyDatabase } from '../postgres/databases.ts';
import { passingFolder } from './engine.ts';
import { startCable } from './postgres-node.ts';
import { startProcess } from './server-process.ts';

it.each([
  { step: 'makes the tables', words: 'create table' },
  { step: 'asks whether there is a chain of digests', words: 'from audit_entries limit 1' },
  { step: 'takes older records into the chain', words: 'as chain from ' },
])('lost while it $step', async ({ words }) => {
  const address = new URL(await emptyDatabase());
  const cable = await startCable(Number(address.port));
  address.port = String(cable.port);
  const reached = cable.holdBefore(words);
  const folder = passingFolder();
  const server = startProcess({
    environment: { DATA_DIR: folder, DATABASE_URL: address.href },
  });
  await Promise.race([reached, server.ready]);
  // It takes no further connection either.
  await cable.end();
  // One that goes on all the same is not left behind.
  const patience = setTimeout(() => server.kill('SIGKILL'), 45_000);
  expect(await server.ended).toMatchObject({ code: 1 });
  clearTimeout(patience);
  rmSync(folder, { recursive: true });
  expect(server.printed()).toMatch(/^Cannot (open|start).*: .*(database|connection|ECONN).*\n$/i);
});

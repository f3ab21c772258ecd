import pg from 'pg';
import { pino } from 'pino';
import { afterEach, expect, it, vi } from 'vitest';
import { createNodeFeed, type NodeFeed } from '../../api/notify/node-feed.ts';
import type { Change } from '../../api/schemas.ts';
import type { PostgresAddress } from '../../api/store/postgres-connection.ts';
import { databasesOf } from '../store/engines.ts';
import { adminAddress } from './databases.ts';

const newDatabase = await databasesOf('postgres');
const log = pino({ level: 'silent' });
const feeds: NodeFeed[] = [];
afterEach(async () => {
  await Promise.all(feeds.splice(0).map((feed) => feed.end()));
});

const change = (sampleId: string): Change => ({ kind: 'sample', streamId: 'width', sampleId });

/** A node, connected, with what it heard. */
async function node(to: PostgresAddress) {
  const feed = createNodeFeed({ to, log });
  feeds.push(feed);
  const heard: Change[] = [];
  let missed = 0;
  feed.subscribe(
    (one) => heard.push(one),
    () => {
      missed += 1;
    },
  );
  // Connected for the first time it may have missed what came before.
  await vi.waitFor(() => expect(missed).toBe(1), { timeout: 20_000 });
  return { feed, heard, missed: () => missed };
}

it('brings each change to every node of the plant once, in its order, and to no other plant', async () => {
  const to = newDatabase().address!;
  const [here, there, elsewhere] = [await node(to), await node(to), await node(newDatabase().address!)];
  // More than one message takes.
  const changes = Array.from({ length: 500 }, (_, index) => change(`sample ${index} ${'ä'.repeat(40)}`));
  for (const one of changes) here.feed.publish(one);
  await here.feed.sent();
  expect(here.heard).toEqual(changes);
  await vi.waitFor(() => expect(there.heard).toHaveLength(500), { timeout: 20_000 });
  expect(there.heard).toEqual(changes);
  there.feed.publish(change('back'));
  await vi.waitFor(() => expect(here.heard.at(-1)).toEqual(change('back')), { timeout: 20_000 });
  expect(elsewhere.heard).toEqual([]);
});

it('says that something may have been missed after the connection broke, and sends what waited', async () => {
  const to = newDatabase().address!;
  const [here, there] = [await node(to), await node(to)];
  const admin = new pg.Client(await adminAddress());
  await admin.connect();
  await admin.query(
    `select pg_terminate_backend(pid) from pg_stat_activity where query ilike '%runtrue_${to.plant}'`,
  );
  await admin.end();
  await vi.waitFor(() => expect([here.missed(), there.missed()]).toEqual([2, 2]), { timeout: 20_000 });
  here.feed.publish(change('after'));
  await vi.waitFor(() => expect(there.heard).toEqual([change('after')]), { timeout: 20_000 });
});

/** Databases for tests, on the server that all tests of a run share. */
import pg from 'pg';
import { inject } from 'vitest';
import { connect } from '../../api/store/postgres-connection.ts';
import { migrate } from '../../api/store/postgres-migrate.ts';
import { makeDatabase } from './cluster.ts';

let admin: Promise<string> | null = null;

/** Address of a superuser of the shared server. */
export function adminAddress(): Promise<string> {
  admin ??= fetch(inject('postgresStarter')).then(async (response) => {
    const text = await response.text();
    if (!response.ok) throw new Error(text);
    return text;
  });
  return admin;
}

/** An empty database of its own. */
export const emptyDatabase = async (): Promise<string> => makeDatabase(await adminAddress());

let shared: Promise<string> | null = null;

async function openShared(): Promise<string> {
  const address = new URL(await adminAddress());
  const client = new pg.Client(address.href);
  await client.connect();
  // Two files of tests may come here at once.
  await client.query('select pg_advisory_lock(1)');
  const { rows } = await client.query("select 1 from pg_database where datname = 'shared'");
  if (rows.length === 0) await client.query('create database shared owner runtrue');
  address.username = 'runtrue';
  address.pathname = '/shared';
  const owner = await connect({ address: address.href, plant: 0 });
  await migrate(owner);
  await owner.end();
  await client.end();
  return address.href;
}

/** The database that all tests share, each with plants of its own in it, which nobody else sees. */
export function sharedDatabase(): Promise<string> {
  shared ??= openShared();
  return shared;
}

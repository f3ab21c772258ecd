import pg from 'pg';
import { describe } from 'vitest';
import { openPostgresStore } from '../../api/store/postgres.ts';
import { adminAddress, emptyDatabase } from '../postgres/databases.ts';
import { conforms } from './conformance.ts';
import { databasesOf, type TestDatabase } from './engines.ts';

const newDatabase = await databasesOf('postgres');

/** As superuser, on the database of an address. */
async function asAdmin(address: string, ...statements: string[]): Promise<void> {
  const admin = new URL(await adminAddress());
  const { pathname } = new URL(address);
  admin.pathname = pathname;
  const client = new pg.Client(admin.href);
  await client.connect();
  await client.query('set default_transaction_read_only = off');
  for (const statement of statements) await client.query(statement);
  await client.end();
}

const nameOf = (address: string): string => new URL(address).pathname.slice(1);

/** The database takes no writes, as a standby that was not promoted. */
const readOnly = (address: string, is: boolean): Promise<void> =>
  asAdmin(
    address,
    `alter database ${nameOf(address)} set default_transaction_read_only = ${is ? 'on' : 'off'}`,
    `select pg_terminate_backend(pid) from pg_stat_activity
     where datname = '${nameOf(address)}' and pid <> pg_backend_pid()`,
  );

describe('a store in PostgreSQL', () => {
  conforms({
    newDatabase,
    refusing: async () => {
      const address = await emptyDatabase();
      const first = await openPostgresStore({ address, plant: 1 });
      const database: TestDatabase = {
        engine: 'postgres',
        file: '',
        address: { address, plant: 1 },
        open: () => first,
        remove: () => {},
      };
      return {
        database,
        refuse: () => readOnly(address, true),
        allow: () => readOnly(address, false),
      };
    },
  });
});

/** Where a test keeps its plant: in a file, or in a PostgreSQL database that all tests share. */
import { randomInt } from 'node:crypto';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { PostgresAddress } from '../../api/store/postgres-connection.ts';
import { openSqliteStore } from '../../api/store/sqlite.ts';
import type { Store } from '../../api/store/store.ts';

export type EngineName = 'sqlite' | 'postgres';

export interface TestDatabase {
  readonly engine: EngineName;
  /** Opens it as a server does; once more for a second server on the same plant. */
  open(): Store;
  /** Of SQLite; elsewhere a name that is no file. */
  readonly file: string;
  /** Of PostgreSQL. */
  readonly address: PostgresAddress | null;
  /** Throws it away; all stores on it must be closed. */
  remove(): void;
}

function sqlite(): TestDatabase {
  const folder = mkdtempSync(join(tmpdir(), 'runtrue-plant-'));
  const file = join(folder, 'plant.sqlite');
  return {
    engine: 'sqlite',
    file,
    address: null,
    open: () => openSqliteStore(file),
    remove: () => rmSync(folder, { recursive: true }),
  };
}

/** Gives what makes databases of an engine, one for each test. */
export async function databasesOf(engine: EngineName): Promise<() => TestDatabase> {
  if (engine === 'sqlite') return sqlite;
  // Imported late: it starts a server, and belongs to the runner of the tests.
  const [{ sharedDatabase }, { postgresStoreAt }] = await Promise.all([
    import('../postgres/databases.ts'),
    import('../../api/store/postgres.ts'),
  ]);
  const shared = await sharedDatabase();
  return () => {
    // As large as an address may name.
    const address = { address: shared, plant: randomInt(1, 1e9) };
    return {
      engine: 'postgres',
      file: '/the/plant/is/in/no/file',
      address,
      open: () => postgresStoreAt(address),
      remove: () => {},
    };
  };
}

/** Of the engine that this run is for. */
export const newDatabase = await databasesOf((process.env.RUNTRUE_TEST_ENGINE ?? 'sqlite') as EngineName);

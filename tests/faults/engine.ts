/** The database that a fault is tried on. */
import { existsSync, mkdirSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { verifyChain } from '../../api/audit/verify-chain.ts';
import { openPostgresStore } from '../../api/store/postgres.ts';
import { connect } from '../../api/store/postgres-connection.ts';
import { PostgresSql } from '../../api/store/postgres-sql.ts';
import { openSqliteStore } from '../../api/store/sqlite.ts';
import { SqliteSql } from '../../api/store/sqlite-sql.ts';
import type { Store } from '../../api/store/store.ts';
import type { startPostgres } from './postgres-node.ts';

export interface Engine {
  readonly name: string;
  /** How many servers work on it at once. */
  readonly nodes: number;
  /** What the server is told, so that it finds the database. */
  readonly environment: Readonly<Record<string, string>>;
  /** Where the database is a server of its own: what can happen to it. */
  readonly database?: {
    kill(whole: boolean): Promise<void>;
    start(): Promise<void>;
    /** Breaks every connection to it. */
    cut(): void;
  };
  /** Opens the database as the server does; the server must not run. */
  open(): Promise<Store>;
  /** What is wrong with the database itself; empty: it is whole. */
  damage(): Promise<readonly string[]>;
  /** Removes everything. */
  end(): Promise<void>;
}

/** A new folder, in memory where the machine offers that: for what is written once and thrown away. */
export const passingFolder = (): string =>
  mkdtempSync(join(existsSync('/dev/shm') ? '/dev/shm' : tmpdir(), 'runtrue-replay-'));

/** SQLite in a folder of its own, which a server may be killed in. */
export function sqliteEngine(folder = mkdtempSync(join(tmpdir(), 'runtrue-faults-'))): Engine & {
  readonly folder: string;
  readonly file: string;
} {
  mkdirSync(folder, { recursive: true });
  const file = join(folder, 'plant.sqlite');
  return {
    name: 'sqlite',
    nodes: 1,
    folder,
    file,
    environment: { DATA_DIR: folder },
    open: async () => openSqliteStore(file),
    async damage() {
      const database = new Database(file);
      const found = (database.pragma('integrity_check') as { integrity_check: string }[])
        .map(({ integrity_check }) => integrity_check)
        .filter((line) => line !== 'ok');
      const dangling = database.pragma('foreign_key_check') as unknown[];
      const { findings } = await verifyChain(new SqliteSql(database));
      database.close();
      return [
        ...found,
        ...findings,
        ...dangling.map((row) => `foreign key without its row: ${JSON.stringify(row)}`),
      ];
    },
    end: async () => rmSync(folder, { recursive: true }),
  };
}

/** PostgreSQL from real binaries, reached over a cable that can be cut. */
export async function postgresEngine(given?: Awaited<ReturnType<typeof startPostgres>>): Promise<Engine> {
  // Imported late: it ends its servers when the process ends, which others need not wait for.
  const { startCable, startPostgres } = await import('./postgres-node.ts');
  const node = given ?? (await startPostgres());
  const cable = await startCable(node.port);
  const address = new URL(node.address);
  address.port = String(cable.port);
  const folder = mkdtempSync(join(tmpdir(), 'runtrue-faults-'));
  const straight = { address: node.address, plant: 1 };
  return {
    name: 'postgres',
    nodes: 2,
    environment: { DATA_DIR: folder, DATABASE_URL: address.href },
    database: { kill: node.kill, start: node.start, cut: cable.cut },
    open: () => openPostgresStore(straight),
    async damage() {
      const client = await connect(straight);
      try {
        return (await verifyChain(new PostgresSql(client))).findings;
      } finally {
        await client.end();
      }
    },
    async end() {
      await cable.end();
      await node.end();
      rmSync(folder, { recursive: true });
    },
  };
}

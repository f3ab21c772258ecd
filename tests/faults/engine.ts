/** The database that a fault is tried on. */
import { existsSync, mkdirSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { openSqliteStore } from '../../api/store/sqlite.ts';
import type { Store } from '../../api/store/store.ts';

export interface Engine {
  readonly name: string;
  /** What the server is told, so that it finds the database. */
  readonly environment: Readonly<Record<string, string>>;
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
      database.close();
      return [...found, ...dangling.map((row) => `foreign key without its row: ${JSON.stringify(row)}`)];
    },
    end: async () => rmSync(folder, { recursive: true }),
  };
}

import { existsSync } from 'node:fs';
import Database from 'better-sqlite3';
import { CommandProblem } from '../console/command-problem.ts';
import { connect, readAddress } from './postgres-connection.ts';
import { PostgresSql } from './postgres-sql.ts';
import type { Sql } from './sql.ts';
import { SqliteSql } from './sqlite-sql.ts';

/** Opens a plant's database to read one consistent state of it, while a server may go on writing. */
export async function openReadSql(
  databaseAddress: string | undefined,
  file: string,
): Promise<{ readonly sql: Sql; readonly close: () => Promise<void> }> {
  if (databaseAddress) {
    // Long reads are what it is for.
    const client = await connect(readAddress(databaseAddress), { query_timeout: 0 });
    await client.query('set idle_in_transaction_session_timeout = 0');
    await client.query('begin isolation level repeatable read read only');
    return { sql: new PostgresSql(client), close: () => client.end() };
  }
  requirePlant(file);
  const database = new Database(file, { readonly: true, fileMustExist: true });
  try {
    database.exec('begin');
    // The first read is what fixes the moment.
    database.prepare('select count(*) from sqlite_master').get();
  } catch (error) {
    database.close();
    throw new CommandProblem(
      `${file} cannot be read as the database of a plant: ${(error as Error).message}.`,
    );
  }
  return {
    sql: new SqliteSql(database),
    close: async () => {
      database.close();
    },
  };
}

/** Before a command works on a plant in a file: a wrong folder must not become a new, empty plant. */
export function requirePlant(file: string): void {
  if (existsSync(file)) return;
  throw new CommandProblem(`There is no plant at ${file}; name its folder with DATA_DIR.`);
}

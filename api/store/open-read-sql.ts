import Database from 'better-sqlite3';
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
  const database = new Database(file, { readonly: true, fileMustExist: true });
  const sql = new SqliteSql(database);
  await sql.run('begin');
  return {
    sql,
    close: async () => {
      database.close();
    },
  };
}

import Database from 'better-sqlite3';
import type { Sql } from './sql.ts';
import { SqliteSql } from './sqlite-sql.ts';

/** Opens a plant's database to read one consistent state of it, while a server may go on writing. */
export async function openReadSql(
  _databaseAddress: string | undefined,
  file: string,
): Promise<{ readonly sql: Sql; readonly close: () => Promise<void> }> {
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

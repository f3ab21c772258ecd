import type Database from 'better-sqlite3';
import { type ColumnTypes, schemaSteps } from './schema/steps.ts';

const sqliteTypes: ColumnTypes = {
  counted: 'integer primary key',
  integer: 'integer',
  real: 'real',
  bytes: 'blob',
  strict: 'strict',
  strictByKey: 'strict, without rowid',
};

/** Brings the database to the newest schema; its user_version counts the steps that it has had. */
export function migrate(database: Database.Database): void {
  const version = (): number => database.pragma('user_version', { simple: true }) as number;
  if (version() > schemaSteps.length) {
    throw new Error(
      `The database has schema ${version()}, but this version of Runtrue knows only ${schemaSteps.length}; start the newer version.`,
    );
  }
  while (version() < schemaSteps.length) {
    // Immediate, and the version read inside: two processes that start together take one step each in turn.
    database
      .transaction(() => {
        const current = version();
        const step = schemaSteps[current];
        if (step === undefined) return;
        database.exec(step(sqliteTypes));
        database.pragma(`user_version = ${current + 1}`);
      })
      .immediate();
  }
}

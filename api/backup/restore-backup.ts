import { createReadStream, createWriteStream, existsSync, mkdirSync, readdirSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { pipeline } from 'node:stream/promises';
import Database from 'better-sqlite3';
import { schemaSteps } from '../store/schema/steps.ts';
import { BackupProblem } from './backup-problem.ts';
import { putInPlace, removeDatabase } from './durable-file.ts';
import { differences, digestsOf, type Manifest, readManifest } from './manifest.ts';
import { type SealedSecrets, sealedSecrets } from './sealed-secrets.ts';
import { MANIFEST_TABLE, tablesOf } from './table-digests.ts';

/** Only a folder that holds nothing: a restore never writes over a plant. */
function requireEmpty(folder: string): void {
  if (!existsSync(folder)) {
    mkdirSync(folder, { recursive: true, mode: 0o700 });
    return;
  }
  if (!statSync(folder).isDirectory()) throw new BackupProblem(`${folder} is no folder; name an empty one.`);
  const [found] = readdirSync(folder);
  if (found !== undefined) {
    throw new BackupProblem(
      `The folder ${folder} is not empty (${found} is in it); a restore writes over nothing, so name an empty one.`,
    );
  }
}

/** Reads what a backup says of itself, and holds its content against it. */
async function checkBackup(database: Database.Database, file: string): Promise<Manifest> {
  let manifest: Manifest | null;
  try {
    manifest = readManifest(database);
  } catch (error) {
    throw new BackupProblem(`${file} cannot be read as a backup: ${(error as Error).message}.`);
  }
  if (manifest === null) throw new BackupProblem(`${file} is no backup: it holds no manifest.`);
  if (manifest.schema > schemaSteps.length) {
    throw new BackupProblem(
      `The backup has schema ${manifest.schema}, but this version of Runtrue knows only ${schemaSteps.length}; use version ${manifest.version} or newer.`,
    );
  }
  let wrong: readonly string[];
  try {
    const damage = database.pragma('integrity_check(1)', { simple: true }) as string;
    wrong =
      damage === 'ok'
        ? differences(await digestsOf(database), manifest.tables)
        : [`Its file is damaged: ${damage}.`];
  } catch (error) {
    wrong = [`Its file is damaged: ${(error as Error).message}.`];
  }
  if (wrong.length > 0) {
    throw new BackupProblem(
      `The backup ${file} is not what it was when it was taken, so nothing was restored. ${wrong.join(' ')}`,
    );
  }
  return manifest;
}

/** Who was signed out, or used up a link, since the backup must not be let in again by it. */
function endSessions(database: Database.Database): void {
  const names = tablesOf(database).map(({ name }) => name);
  for (const name of ['sessions', 'one_time_tokens']) {
    if (names.includes(name)) database.exec(`delete from ${name}`);
  }
}

export interface Restored {
  readonly manifest: Manifest;
  readonly sealed: SealedSecrets;
}

/** Puts the plant of a backup into an empty folder, where a server then finds it. */
export async function restoreBackup(file: string, folder: string, name: string): Promise<Restored> {
  if (!existsSync(file) || !statSync(file).isFile()) throw new BackupProblem(`There is no backup ${file}.`);
  requireEmpty(folder);
  const partial = join(folder, `${name}.partial`);
  try {
    // Not a copy by the operating system, which would take over the mode of the backup.
    await pipeline(createReadStream(file), createWriteStream(partial, { flags: 'wx', mode: 0o600 }));
    const database = new Database(partial);
    try {
      const manifest = await checkBackup(database, file);
      database.exec(`drop table ${MANIFEST_TABLE}`);
      endSessions(database);
      const sealed = sealedSecrets(database);
      database.close();
      putInPlace(partial, join(folder, name));
      return { manifest, sealed };
    } finally {
      database.close();
    }
  } catch (error) {
    removeDatabase(partial);
    throw error;
  }
}

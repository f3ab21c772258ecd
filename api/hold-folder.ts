import { join } from 'node:path';
import Database from 'better-sqlite3';

/**
 * One server a folder: two would send each message twice. The lock is the operating system's, so that a server that
 * was killed leaves none behind.
 *
 * @returns lets go of it; null where another holds it
 */
export function holdFolder(folder: string): (() => void) | null {
  const lock = new Database(join(folder, 'server.lock'), { timeout: 1_000 });
  try {
    lock.exec('begin exclusive');
  } catch (error) {
    lock.close();
    if (!(error as { code?: string }).code?.startsWith('SQLITE_BUSY')) throw error;
    return null;
  }
  return () => lock.close();
}

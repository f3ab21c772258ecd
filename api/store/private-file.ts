import { closeSync, openSync } from 'node:fs';

/**
 * Makes a file that only its owner can read, before something else writes into it; SQLite gives its journals the
 * mode of the file. One that is there already stays as it is, so that an administrator can allow more.
 */
export function makePrivate(file: string): void {
  try {
    closeSync(openSync(file, 'wx', 0o600));
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code !== 'EEXIST') throw error;
  }
}

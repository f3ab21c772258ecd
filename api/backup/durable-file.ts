import { closeSync, fsyncSync, openSync, renameSync, rmSync } from 'node:fs';
import { dirname } from 'node:path';

function flush(path: string): void {
  const opened = openSync(path, 'r');
  fsyncSync(opened);
  closeSync(opened);
}

/** Gives a finished file its name: after a power cut it is there whole, or not at all. */
export function putInPlace(partial: string, file: string): void {
  flush(partial);
  renameSync(partial, file);
  flush(dirname(file));
}

/** A database file with what SQLite keeps beside it. */
export function removeDatabase(file: string): void {
  for (const ending of ['', '-wal', '-shm', '-journal']) rmSync(file + ending, { force: true });
}

/** A disk that is soon full. */
import { execFileSync } from 'node:child_process';
import { mkdtempSync } from 'node:fs';
import { join } from 'node:path';

/** Whether a program ends well. */
export function works(file: string, ...words: string[]): boolean {
  try {
    execFileSync(file, words, { stdio: 'ignore' });
    return true;
  } catch {
    return false;
  }
}

/** A small file system of its own; null where this user may mount none. */
export function smallFileSystem(
  folder: string,
  megabytes: number,
): { readonly at: string; readonly end: () => void } | null {
  const at = mkdtempSync(join(folder, 'small-'));
  if (!works('mount', '-t', 'tmpfs', '-o', `size=${megabytes}m`, 'tmpfs', at)) return null;
  return { at, end: () => void works('umount', '-l', at) };
}

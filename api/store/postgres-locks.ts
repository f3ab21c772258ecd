import { createHash } from 'node:crypto';

const keys = new Map<string, string>();

/**
 * The number of an advisory lock. Two names that met at one number would only wait for each other without need.
 */
export function advisoryKey(...names: readonly (string | number)[]): string {
  const text = JSON.stringify(['runtrue', ...names]);
  let key = keys.get(text);
  if (key === undefined) {
    key = createHash('sha256').update(text).digest().readBigInt64BE().toString();
    keys.set(text, key);
  }
  return key;
}

/**
 * Secrets that the server has to read again, such as that of an authenticator, cannot be hashed. They are kept sealed
 * (AES-256-GCM), by a key that stands in a file and not in the database: whoever comes by a backup or a copy of the
 * database alone cannot use them. All nodes of one plant need the same key.
 */
import { createCipheriv, createDecipheriv, createHash, randomBytes } from 'node:crypto';
import { closeSync, fsyncSync, linkSync, openSync, readFileSync, rmSync, writeSync } from 'node:fs';
import { join } from 'node:path';
import { BadSetting } from './http/outside.ts';

const CIPHER = 'aes-256-gcm';
const KEY_BYTES = 32;

export interface Sealing {
  /** `of`: what and whose it is; sealed for one it opens for no other. */
  seal(secret: string, of: string): string;
  /** null: it was sealed with another key, or for something else. */
  open(sealed: string, of: string): string | null;
}

export function sealingBy(key: Buffer): Sealing {
  const mark = createHash('sha256').update('sealing').update(key).digest('base64url').slice(0, 8);
  return {
    seal(secret, of) {
      const nonce = randomBytes(12);
      const cipher = createCipheriv(CIPHER, key, nonce).setAAD(Buffer.from(of));
      const text = Buffer.concat([cipher.update(secret, 'utf8'), cipher.final()]);
      return [
        'sealed',
        mark,
        ...[nonce, text, cipher.getAuthTag()].map((part) => part.toString('base64url')),
      ].join('.');
    },
    open(sealed, of) {
      const [, by, ...parts] = sealed.split('.');
      if (by !== mark) return null;
      const [nonce, text, tag] = parts.map((part) => Buffer.from(part, 'base64url')) as [
        Buffer,
        Buffer,
        Buffer,
      ];
      try {
        const cipher = createDecipheriv(CIPHER, key, nonce, { authTagLength: 16 });
        cipher.setAAD(Buffer.from(of)).setAuthTag(tag);
        return Buffer.concat([cipher.update(text), cipher.final()]).toString('utf8');
      } catch {
        return null;
      }
    },
  };
}

function read(file: string): Buffer {
  const key = Buffer.from(readFileSync(file, 'utf8').trim(), 'base64');
  if (key.length === KEY_BYTES) return key;
  throw new BadSetting(
    `${file} must hold a key of ${KEY_BYTES} random bytes in base64 (openssl rand -base64 32).`,
  );
}

/** Whole on the disk before anything is sealed with it. Of two that come at once, one makes it. */
function make(file: string): void {
  const partial = `${file}.${process.pid}.partial`;
  const opened = openSync(partial, 'wx', 0o600);
  writeSync(opened, `${randomBytes(KEY_BYTES).toString('base64')}\n`);
  fsyncSync(opened);
  closeSync(opened);
  try {
    linkSync(partial, file);
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code !== 'EEXIST') throw error;
  } finally {
    rmSync(partial);
  }
}

/** The key of a plant: in the file that is named, or else in one of the data folder, made at the first start. */
export function sealingKey(named: string | undefined, folder: string): Buffer {
  const file = named || join(folder, 'secrets.key');
  try {
    return read(file);
  } catch (error) {
    const { code } = error as NodeJS.ErrnoException;
    if (code === undefined) throw error;
    if (named || code !== 'ENOENT')
      throw new BadSetting(`SECRETS_KEY_FILE cannot be read (${code}): ${file}.`);
    make(file);
    return read(file);
  }
}

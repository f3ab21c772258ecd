import { randomBytes } from 'node:crypto';
import { mkdtempSync, readdirSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { BadSetting } from '../../api/http/outside.ts';
import { sealingBy, sealingKey } from '../../api/sealing.ts';

describe('a sealed secret', () => {
  const sealing = sealingBy(randomBytes(32));

  it('opens for whom it was sealed, with the key it was sealed with, and never twice the same', () => {
    const sealed = sealing.seal('the secret', 'of kim');
    expect(sealed).not.toContain('the secret');
    expect(sealing.open(sealed, 'of kim')).toBe('the secret');
    expect(sealing.open(sealed, 'of lee')).toBeNull();
    expect(sealingBy(randomBytes(32)).open(sealed, 'of kim')).toBeNull();
    expect(sealing.seal('the secret', 'of kim')).not.toBe(sealed);
  });

  it('that was changed in any part opens no more', () => {
    const parts = sealing.seal('the secret', 'of kim').split('.');
    for (const at of parts.keys()) {
      if (at === 0) continue;
      const changed = parts.with(
        at,
        parts[at]!.replace(/^./, (sign) => (sign === 'A' ? 'B' : 'A')),
      );
      expect(sealing.open(changed.join('.'), 'of kim'), `part ${at}`).toBeNull();
    }
    // A short tag would be guessed sooner.
    expect(sealing.open(parts.with(4, parts[4]!.slice(0, 6)).join('.'), 'of kim')).toBeNull();
    expect(sealing.open('', 'of kim')).toBeNull();
    expect(sealing.open('the secret', 'of kim')).toBeNull();
  });
});

describe('the key that seals', () => {
  let folder = '';
  beforeEach(() => {
    folder = mkdtempSync(join(tmpdir(), 'runtrue-key-'));
  });
  afterEach(() => rmSync(folder, { recursive: true }));

  it('is made once in the data folder, whole, and readable by nobody else', () => {
    const key = sealingKey(undefined, folder);
    expect(key).toHaveLength(32);
    expect(sealingKey('', folder)).toEqual(key);
    expect(readdirSync(folder)).toEqual(['secrets.key']);
    expect(statSync(join(folder, 'secrets.key')).mode & 0o777).toBe(0o600);
  });

  it('comes from the file that is named, which nothing is written to', () => {
    const file = join(folder, 'given');
    const key = randomBytes(32);
    writeFileSync(file, `${key.toString('base64')}\n`);
    expect(sealingKey(file, folder)).toEqual(key);
    expect(readFileSync(file, 'utf8')).toBe(`${key.toString('base64')}\n`);
    expect(readdirSync(folder)).toEqual(['given']);
  });

  it.each([
    ['is not there', null, /SECRETS_KEY_FILE cannot be read \(ENOENT\)/],
    ['is empty', '', /must hold a key of 32 random bytes/],
    ['holds a short key', randomBytes(16).toString('base64'), /must hold a key of 32 random bytes/],
  ])('is refused in words where the file %s', (_, content, words) => {
    const file = join(folder, 'given');
    if (content !== null) writeFileSync(file, content);
    expect(() => sealingKey(file, folder)).toThrow(BadSetting);
    expect(() => sealingKey(file, folder)).toThrow(words);
  });
});

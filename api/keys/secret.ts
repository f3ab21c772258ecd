import { createHash, randomBytes } from 'node:crypto';
import { crc32 } from 'node:zlib';

/** Tells what it is wherever it turns up, so that a key that was published by mistake is found. */
const PREFIX = 'runtrue_';
const RANDOM_BYTES = 32;
const form = new RegExp(`^${PREFIX}([0-9a-f]{${2 * RANDOM_BYTES}})([0-9a-f]{8})$`);

const checksum = (random: string): string =>
  crc32(PREFIX + random)
    .toString(16)
    .padStart(8, '0');

/** 256 random bits and a checksum, by which a mistyped or shortened key is told from an unknown one. */
export function newSecret(): string {
  const random = randomBytes(RANDOM_BYTES).toString('hex');
  return PREFIX + random + checksum(random);
}

export function isWellFormed(secret: string): boolean {
  const parts = form.exec(secret);
  return parts !== null && checksum(parts[1]!) === parts[2];
}

/** All that is stored of a secret. Its 256 random bits cannot be guessed, so a slow hash would protect nothing more. */
export const digestOf = (secret: string): Buffer => createHash('sha256').update(secret).digest();

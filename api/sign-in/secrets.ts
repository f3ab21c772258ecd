/**
 * Passwords and PINs. Only their argon2id hashes are kept, with the least memory and passes that the OWASP Password
 * Storage Cheat Sheet names (19 MiB, 2 passes, from memory). Rules after NIST SP 800-63B (from memory): length
 * instead of composition, and a list of what everybody tries first (49,000 of a library).
 */
import { hash, verify } from '@node-rs/argon2';
import { dictionary } from '@zxcvbn-ts/language-common';
import { unacceptable } from '../problem.ts';

const cost = { memoryCost: 19_456, timeCost: 2, parallelism: 1 };

/** The same text typed on two keyboards is the same password. */
const composed = (secret: string): string => secret.normalize('NFC');

export const hashOf = (secret: string): Promise<string> => hash(composed(secret), cost);

/** Stands in where there is no hash, so that an unknown person takes as long as a wrong password. */
let nobodysHash: Promise<string> | null = null;

/** Does the same work whether there is a hash or not. */
export async function matches(stored: string | null, secret: string): Promise<boolean> {
  nobodysHash ??= hashOf(`nobody ${process.pid} ${process.hrtime.bigint()}`);
  const same = await verify(stored ?? (await nobodysHash), composed(secret));
  return same && stored !== null;
}

const FEWEST_CHARACTERS = 12;

/** What many people choose, and what anybody would try in a plant like this; in lower case. */
const common = new Set([
  ...dictionary['passwords-common'].map(String),
  'steelworks',
  'supervisor',
  'technician',
  'runtrue',
  'quality',
  'wheelwheel',
  'correcthorsebatterystaple',
]);

/** A common one, with up to four signs more at its end. */
const isCommon = (plain: string): boolean =>
  [0, 1, 2, 3, 4].some((more) => common.has(plain.slice(0, plain.length - more)));

/** Each sign follows the one before, up or down; 0 comes after 9. */
function isSequence(text: string): boolean {
  const steps = [...text.slice(1)].map((sign, index) => sign.charCodeAt(0) - text.charCodeAt(index));
  return [1, -1].some((step) => steps.every((found) => found === step || found === -9 * step));
}

/** Refuses what is too short or too easily guessed; `own` are words that anybody would try for this person. */
export function checkPassword(password: string, own: readonly string[], field: string): void {
  if ([...password].length < FEWEST_CHARACTERS) {
    throw unacceptable(
      field,
      `must have at least ${FEWEST_CHARACTERS} characters; a few words in a row are easy to remember.`,
    );
  }
  const plain = composed(password).toLowerCase();
  const repeated = /^(.{1,6}?)\1+.{0,5}$/u.test(plain) && new Set(plain).size < 7;
  const ownWord = own.some((word) => word.length > 2 && plain.replace(word.toLowerCase(), '').length < 5);
  if (isCommon(plain) || repeated || ownWord || isSequence(plain)) {
    throw unacceptable(
      field,
      'is one that others guess early; choose a few words that do not belong together.',
    );
  }
}

/** 4 to 8 digits; used only at a registered station. */
export function checkPin(pin: string, field: string): void {
  if (!/^\d{4,8}$/.test(pin)) throw unacceptable(field, 'must be 4 to 8 digits.');
  if (new Set(pin).size === 1 || isSequence(pin)) {
    throw unacceptable(field, 'is one that others guess early; choose digits that do not follow each other.');
  }
}

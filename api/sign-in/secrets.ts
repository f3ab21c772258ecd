/**
 * Passwords and PINs. Only their argon2id hashes are kept, with the least memory and passes that the OWASP Password
 * Storage Cheat Sheet names (19 MiB, 2 passes, from memory). Rules after NIST SP 800-63B (from memory): length
 * instead of composition, and a list of what everybody tries first.
 */
import { hash, verify } from '@node-rs/argon2';
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

/** Long enough, and among the first that a guesser tries. In lower case. */
const common = new Set(
  `administrator password1234 password12345 password123456 password123! passwordpassword passw0rd1234 p@ssword1234
  p@ssw0rd1234 mypassword123 mypassword1234 changeme1234 changemenow1 changeme12345 letmein12345 letmeinletmein
  welcome12345 welcome123456 welcomewelcome iloveyou1234 iloveyou12345 qwertyuiop12 qwertyuiop123 qwertyuiop1234
  qwertyuiopas qwertyuiopasdf qwertyuiopasdfghjkl qwerty123456 qwerty1234567 qwertz123456 qwertzuiop123 azertyuiop123
  1q2w3e4r5t6y 1q2w3e4r5t6y7u 1q2w3e4r5t6y7u8i zaq12wsxcde3 zaq1zaq1zaq1 1qaz2wsx3edc 1qaz2wsx3edc4rfv qazwsxedcrfv
  asdfghjkl123 asdfghjklqwerty zxcvbnm12345 abc123abc123 abcd12345678 abcdef123456 a1b2c3d4e5f6 123qweasdzxc
  qwe123qwe123 123456qwerty 1234567890ab 1234567890qw superman1234 football1234 baseball1234 dragon123456
  sunshine1234 princess1234 monkey123456 master123456 trustno1trustno1 thisisapassword correcthorsebatterystaple
  wheelwheelwheel qualityquality supervisor12 engineer1234 technician12 steelworks12 runtruerun12 runtrue12345`
    .split(/\s+/)
    .filter((word) => word !== ''),
);

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
  if (common.has(plain) || repeated || ownWord || isSequence(plain)) {
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

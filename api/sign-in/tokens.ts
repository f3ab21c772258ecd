import { createHash, randomBytes, randomInt } from 'node:crypto';

/** 256 random bits, safe in cookies and links. */
export const newToken = (): string => randomBytes(32).toString('base64url');

/** What is stored of a token: whoever reads the database cannot come in with it. */
export const digestOf = (token: string): string => createHash('sha256').update(token).digest('hex');

/** Without letters and digits that are taken for each other. */
const alphabet = '23456789ABCDEFGHJKLMNPQRSTUVWXYZ';

/** A code that is read from one screen and typed into another: 50 bits, valid for minutes. */
export function newCode(): string {
  const signs = Array.from({ length: 10 }, () => alphabet[randomInt(alphabet.length)]).join('');
  return `${signs.slice(0, 5)}-${signs.slice(5)}`;
}

/** As it was shown, however it was typed. */
export const tidyCode = (typed: string): string => {
  const signs = typed.toUpperCase().replace(/[^A-Z0-9]/g, '');
  return `${signs.slice(0, 5)}-${signs.slice(5)}`;
};

/** Entity tags (RFC 9110, 8.8.3 and 13): who holds an answer already need not be sent it again. */
import { createHash } from 'node:crypto';
import { contract } from '../contract.ts';
import { ProblemError } from '../problem.ts';

/** Writes of the plant that heed If-Match. */
export const plantWrites: ReadonlySet<string> = new Set(
  Object.entries(contract)
    .filter(([key, { tag }]) => tag === 'plant' && key.startsWith('PUT '))
    .map(([key]) => key),
);

export const entityTag = (text: string): string =>
  `"${createHash('sha256').update(text).digest('base64url').slice(0, 27)}"`;

export const plantTag = (revision: number): string => `"plant-${revision}"`;

const opaque = (tag: string): string => tag.trim().replace(/^W\//, '');

/** Is a tag among those of If-None-Match? Compared weakly: an answer that was compressed on its way says so. */
export function isHeld(header: string | null, tag: string): boolean {
  if (header === null) return false;
  return header.trim() === '*' || header.split(',').some((one) => opaque(one) === tag);
}

/** Refuses a change that was made from another state of the plant than the present one. */
export function requirePlantTag(header: string | null, revision: number): void {
  if (header === null || header.trim() === '*') return;
  if (header.split(',').some((one) => one.trim() === plantTag(revision))) return;
  const message = `The plant has changed since ${header.slice(0, 60)}: it is ${plantTag(revision)} now. Read it again, and make the change anew.`;
  throw new ProblemError(412, 'The plant has changed since', message, [{ field: 'If-Match', message }]);
}

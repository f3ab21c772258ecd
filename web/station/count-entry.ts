/** Counted parts as typed: whole numbers, no more nonconforming than inspected. */
import type { CountedParts } from '../../api/schemas.ts';

export type CountField = 'inspected' | 'nonconforming';

/** What is wrong with the typed text, in one sentence; null when it can stand. */
export function wrongCount(field: CountField, text: string, inspectedText: string): string | null {
  const count = wholeNumber(text);
  if (count === null) return 'Type a whole number, with digits only.';
  if (field === 'inspected') return count < 1 ? 'At least one part must have been inspected.' : null;
  const inspected = wholeNumber(inspectedText);
  return inspected !== null && count > inspected
    ? `More nonconforming than the ${inspected} inspected. Check both numbers.`
    : null;
}

/** The counts to send; null while one of them cannot stand. */
export function countedParts(inspectedText: string, nonconformingText: string): CountedParts | null {
  if (wrongCount('inspected', inspectedText, inspectedText) !== null) return null;
  if (wrongCount('nonconforming', nonconformingText, inspectedText) !== null) return null;
  return { inspected: wholeNumber(inspectedText)!, nonconforming: wholeNumber(nonconformingText)! };
}

function wholeNumber(text: string): number | null {
  const plain = text.trim();
  return /^\d{1,7}$/.test(plain) ? Number(plain) : null;
}

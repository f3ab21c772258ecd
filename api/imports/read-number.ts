/** The largest magnitude that a reading may have, as everywhere in the API. */
const LARGEST = 1e12;
const NUMBER = /^[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?$/;

const plainOf = (text: string): string => text.trim().replace('−', '-');

const withPoint = (text: string, mark: '.' | ','): string =>
  mark === '.' ? text : text.includes('.') ? 'no number' : text.replace(',', '.');

/** Reads one number as a file writes it; a text that is none comes back as the problem, in words. */
export function readNumber(text: string, decimalMark: '.' | ','): number | { readonly problem: string } {
  const plain = plainOf(text);
  const number = withPoint(plain, decimalMark);
  if (NUMBER.test(number)) {
    const value = Number(number);
    return Math.abs(value) <= LARGEST ? value : { problem: 'this number is too large to be a measurement' };
  }
  if (NUMBER.test(withPoint(plain, decimalMark === '.' ? ',' : '.'))) {
    return {
      problem:
        decimalMark === '.'
          ? 'this has a decimal comma, but the file is read with a decimal point'
          : 'this has a decimal point, but the file is read with a decimal comma',
    };
  }
  return { problem: 'this is not a number' };
}

/** A number with this mark, however large: for guessing what a column holds. */
export const looksLikeNumber = (text: string, decimalMark: '.' | ','): boolean =>
  NUMBER.test(withPoint(plainOf(text), decimalMark));

import { decimalMark } from '../session.ts';

/** The core writes numbers with a point; on the page they are written as the person chose. */
export const asWrittenHere = (text: string): string =>
  decimalMark.value === ',' ? text.replace(/(\d)\.(?=\d)/g, '$1,') : text;

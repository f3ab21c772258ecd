import { MAX_SHOWN_TEXT } from './import-bounds.ts';

/** What a file says, cut where it is too long to be shown. */
export const shownText = (text: string): string =>
  text.length > MAX_SHOWN_TEXT ? `${text.slice(0, MAX_SHOWN_TEXT)}…` : text;

// Spreadsheets run a cell that begins like this as a formula, wherever the text came from.
const FORMULA_START = /^'*[=+\-@\t\r]/;
const GUARDED_START = /^''*[=+\-@\t\r]/;

/** Puts an apostrophe before text that a spreadsheet would run. */
export const guardText = (text: string): string => (FORMULA_START.test(text) ? `'${text}` : text);

/** Takes that apostrophe off again. */
export const unguardText = (text: string): string => (GUARDED_START.test(text) ? text.slice(1) : text);

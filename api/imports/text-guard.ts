// Spreadsheets run a cell that begins like this as a formula, wherever the text came from; some take the wide forms of
// these characters for them too (OWASP, "CSV Injection", from memory).
const FORMULA_START = /^'*[=+\-@\t\r\n＝＋－＠]/;
const GUARDED_START = /^''*[=+\-@\t\r\n＝＋－＠]/;

/** Puts an apostrophe before text that a spreadsheet would run. */
export const guardText = (text: string): string => (FORMULA_START.test(text) ? `'${text}` : text);

/** Takes that apostrophe off again. */
export const unguardText = (text: string): string => (GUARDED_START.test(text) ? text.slice(1) : text);

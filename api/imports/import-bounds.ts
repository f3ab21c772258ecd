/** How much one import may be, so that memory and disk stay bounded whatever is sent. All documented for callers. */

/** Largest file, in bytes. */
export const MAX_FILE_BYTES = 20 * 1024 * 1024;
/** Longest line, in characters; an unclosed quotation mark ends here at the latest. */
export const MAX_LINE_CHARACTERS = 100_000;
export const MAX_COLUMNS = 1000;
/** Most samples of one file. */
export const MAX_SAMPLES = 100_000;
/** Most readings of one file. */
export const MAX_FILE_READINGS = 1_000_000;
/** Bad rows that a preview carries; all of them are counted. */
export const MAX_BAD_ROWS = 500;
/** Warnings that a preview carries; all of them are counted. */
export const MAX_WARNINGS = 200;
/** Uploaded files that may wait at the same time; the oldest gives way. */
export const MAX_WAITING_FILES = 20;
/** How long an uploaded file waits for its import, in milliseconds. */
export const FILE_LIFETIME = 24 * 3_600_000;
/** Characters of a bad cell or row that are shown. */
export const MAX_SHOWN_TEXT = 120;

/** Of a workbook, which is a zip archive: parts, inflated bytes of a sheet and of its texts, cells merged into one. */
export const MAX_ARCHIVE_ENTRIES = 2000;
export const MAX_SHEET_BYTES = 200 * 1024 * 1024;
export const MAX_TEXTS_BYTES = 32 * 1024 * 1024;
export const MAX_MERGES = 10_000;

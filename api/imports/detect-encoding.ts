import type { CsvShape } from '../schemas.ts';
import { UnreadableFile } from './unreadable-file.ts';

/** What the first bytes and all others say of a file: how its text is written, or that it is a workbook. */
export type FileContent = CsvShape['encoding'] | 'workbook';

const saveAsCsv =
  'Open it in the program it comes from, save it as a workbook (.xlsx) or as CSV (UTF-8), and choose that file.';
/** Workbooks are zip archives. */
const ZIP = [0x50, 0x4b, 0x03, 0x04];

/** First bytes of files that people take for tables. */
const otherFiles: readonly (readonly [readonly number[], string])[] = [
  [[0xd0, 0xcf, 0x11, 0xe0], 'This is a document, a workbook of an old kind (.xls), or one with a password.'],
  [[0x25, 0x50, 0x44, 0x46], 'This is a page document, not a table.'],
  [[0xff, 0xfe, 0x00, 0x00], 'This file is written in UTF-32, which is not read here.'],
  [[0xfe, 0xff], 'This file is written in UTF-16 with the high byte first, which is not read here.'],
];

const begins = (bytes: Uint8Array, mark: readonly number[]): boolean =>
  mark.every((byte, at) => bytes[at] === byte);

/**
 * Finds out how a file is encoded while its bytes go by: UTF-16 by its mark, UTF-8 where every byte sequence is
 * valid, else windows-1252; a workbook by its first bytes. Refuses what is neither.
 */
export function createEncodingDetector() {
  let encoding: FileContent | null = null;
  let head = new Uint8Array(0);
  let decoder: TextDecoder | null = null;

  const begin = (): void => {
    const other = otherFiles.find(([mark]) => begins(head, mark));
    if (other !== undefined) throw new UnreadableFile(`${other[1]} ${saveAsCsv}`);
    if (begins(head, ZIP)) {
      encoding = 'workbook';
      return;
    }
    encoding = begins(head, [0xff, 0xfe]) ? 'utf-16le' : 'utf-8';
    decoder = new TextDecoder(encoding, { fatal: true });
  };

  const look = (bytes: Uint8Array, more: boolean): void => {
    if (encoding === 'workbook') return;
    if (encoding !== 'utf-16le' && bytes.includes(0)) {
      throw new UnreadableFile(`This is not a text file. ${saveAsCsv}`);
    }
    if (decoder === null) return;
    let text: string;
    try {
      text = decoder.decode(bytes, { stream: more });
    } catch {
      if (encoding === 'utf-16le') {
        throw new UnreadableFile(`This file begins as UTF-16 but does not go on so. ${saveAsCsv}`);
      }
      encoding = 'windows-1252';
      decoder = null;
      return;
    }
    if (text.includes('\0')) throw new UnreadableFile(`This is not a text file. ${saveAsCsv}`);
  };

  return {
    add(bytes: Uint8Array): void {
      if (encoding !== null) {
        look(bytes, true);
        return;
      }
      // The first chunk may be shorter than the longest mark.
      const joined = new Uint8Array(head.length + bytes.length);
      joined.set(head);
      joined.set(bytes, head.length);
      head = joined;
      if (head.length < 4) return;
      begin();
      look(head, true);
    },
    finish(): FileContent {
      if (encoding === null) {
        begin();
        look(head, true);
      }
      look(new Uint8Array(0), false);
      return encoding!;
    },
  };
}

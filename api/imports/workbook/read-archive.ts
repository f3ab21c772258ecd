import { type Entry, openPromise, type ZipFile } from 'yauzl';
import { MAX_ARCHIVE_ENTRIES } from '../import-bounds.ts';
import { UnreadableFile } from '../unreadable-file.ts';

const broken = (): UnreadableFile =>
  new UnreadableFile('The workbook is damaged or incomplete; save it again in the program it comes from.');

/** The parts of a zip archive, by name. Only what is asked for is inflated, piece by piece. */
export interface Archive {
  has(name: string): boolean;
  /** The inflated bytes of a part; refused before anything is inflated where it says that it is larger than `most`. */
  read(name: string, most: number): AsyncGenerator<Buffer>;
}

const tooLarge = (name: string, most: number): UnreadableFile =>
  new UnreadableFile(
    `The part ${name} of the workbook holds more than ${Math.round(most / 1024 / 1024)} MiB; split the workbook into parts.`,
  );

/**
 * Opens a zip archive for as long as `work` takes.
 *
 * @throws UnreadableFile where the file is no whole archive, is encrypted, or has too many parts.
 */
export async function* withArchive<T>(
  path: string,
  work: (archive: Archive) => AsyncGenerator<T>,
): AsyncGenerator<T> {
  let zip: ZipFile;
  const entries = new Map<string, Entry>();
  try {
    zip = await openPromise(path, { lazyEntries: true, autoClose: false });
  } catch {
    throw broken();
  }
  try {
    if (zip.entryCount > MAX_ARCHIVE_ENTRIES)
      throw new UnreadableFile(`The workbook has more than ${MAX_ARCHIVE_ENTRIES} parts; it is not read.`);
    try {
      for await (const entry of zip.eachEntry()) entries.set(entry.fileName, entry);
    } catch {
      throw broken();
    }
    yield* work({
      has: (name) => entries.has(name),
      async *read(name, most) {
        const entry = entries.get(name);
        if (entry === undefined) throw broken();
        if (entry.isEncrypted())
          throw new UnreadableFile('The workbook is protected by a password; save it without one.');
        if (entry.uncompressedSize > most) throw tooLarge(name, most);
        let bytes = 0;
        try {
          // The reader ends with an error where a part inflates to more than it says.
          for await (const piece of await zip.openReadStreamPromise(entry)) {
            bytes += (piece as Buffer).length;
            if (bytes > most) throw tooLarge(name, most);
            yield piece as Buffer;
          }
        } catch (error) {
          throw error instanceof UnreadableFile ? error : broken();
        }
      },
    });
  } finally {
    zip.close();
  }
}

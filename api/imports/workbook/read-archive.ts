import { Readable } from 'node:stream';
import { type Entry, fromRandomAccessReaderPromise, RandomAccessReader, type ZipFile } from 'yauzl';
import type { FileBytes } from '../file-bytes.ts';
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

/** Reads the parts of a file that the archive asks for. */
class FileReader extends RandomAccessReader {
  readonly #file: FileBytes;
  /** The file itself could not be read, which says nothing of the archive in it. */
  failure: unknown = null;

  constructor(file: FileBytes) {
    super();
    this.#file = file;
  }

  async *#read(start: number, end: number): AsyncGenerator<Buffer> {
    try {
      yield* this.#file.read(start, end);
    } catch (error) {
      this.failure ??= error;
      throw error;
    }
  }

  override _readStreamForRange(start: number, end: number): Readable {
    return Readable.from(this.#read(start, end), { objectMode: false });
  }
}

/**
 * Opens a zip archive for as long as `work` takes.
 *
 * @throws UnreadableFile where the file is no whole archive, is encrypted, or has too many parts.
 */
export async function* withArchive<T>(
  file: FileBytes,
  work: (archive: Archive) => AsyncGenerator<T>,
): AsyncGenerator<T> {
  let zip: ZipFile;
  const entries = new Map<string, Entry>();
  const reader = new FileReader(file);
  const unreadable = (): unknown => reader.failure ?? broken();
  try {
    zip = await fromRandomAccessReaderPromise(reader, file.bytes, { lazyEntries: true, autoClose: false });
  } catch {
    throw unreadable();
  }
  try {
    if (zip.entryCount > MAX_ARCHIVE_ENTRIES)
      throw new UnreadableFile(`The workbook has more than ${MAX_ARCHIVE_ENTRIES} parts; it is not read.`);
    try {
      for await (const entry of zip.eachEntry()) entries.set(entry.fileName, entry);
    } catch {
      throw unreadable();
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
          throw error instanceof UnreadableFile ? error : unreadable();
        }
      },
    });
  } finally {
    zip.close();
  }
}

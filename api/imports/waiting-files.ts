import { createWriteStream } from 'node:fs';
import { mkdir, readdir, rm } from 'node:fs/promises';
import { join } from 'node:path';
import { finished } from 'node:stream/promises';
import { ProblemError } from '../problem.ts';
import { createEncodingDetector, type FileContent } from './detect-encoding.ts';
import { MAX_FILE_BYTES } from './import-bounds.ts';

const tooLarge = (): ProblemError => {
  const message = `The file is larger than ${MAX_FILE_BYTES / 1024 / 1024} MiB. Split it into parts and import them one by one.`;
  return new ProblemError(413, 'File too large', message, [{ field: 'body', message }]);
};

export interface ReceivedFile {
  readonly path: string;
  readonly bytes: number;
  readonly content: FileContent;
}

/** The folder of files that were uploaded and wait for their import. Nothing in it outlives the server. */
export function createWaitingFiles(folder: string) {
  let ready: Promise<unknown> | null = null;
  /** Empties the folder of what an earlier run left. */
  const begin = async (): Promise<void> => {
    await mkdir(folder, { recursive: true });
    for (const name of await readdir(folder)) {
      if (name.endsWith('.upload')) await rm(join(folder, name), { force: true });
    }
  };
  const prepare = (): Promise<unknown> => {
    ready ??= begin().catch((error: unknown) => {
      ready = null;
      throw error;
    });
    return ready;
  };

  return {
    prepare,
    /** Writes a body to disk while it arrives; refused in the middle, it leaves nothing behind. */
    async receive(
      id: string,
      body: ReadableStream<Uint8Array> | null,
      announcedBytes: number,
    ): Promise<ReceivedFile> {
      if (announcedBytes > MAX_FILE_BYTES) throw tooLarge();
      await prepare();
      const path = join(folder, `${id}.upload`);
      const file = createWriteStream(path, { flags: 'wx', mode: 0o600 });
      const written = finished(file);
      // Awaited below; until then a failure must not count as unhandled.
      written.catch(() => {});
      const reader = body?.getReader();
      const detector = createEncodingDetector();
      let bytes = 0;
      try {
        for (;;) {
          const piece = await reader?.read();
          if (piece === undefined || piece.done) break;
          bytes += piece.value.byteLength;
          if (bytes > MAX_FILE_BYTES) throw tooLarge();
          detector.add(piece.value);
          if (!file.write(piece.value) && !file.destroyed) {
            await Promise.race([new Promise<void>((drained) => file.once('drain', drained)), written]);
          }
        }
        const content = detector.finish();
        file.end();
        await written;
        return { path, bytes, content };
      } catch (error) {
        // Not awaited: a sender that never ends would never let the cancel end either.
        reader?.cancel().catch(() => {});
        file.destroy();
        await written.catch(() => {});
        await rm(path, { force: true });
        throw error;
      }
    },
    remove: (path: string): Promise<void> => rm(path, { force: true }),
  };
}

import { setImmediate } from 'node:timers/promises';
import type { CsvShape } from '../schemas.ts';
import type { FileBytes } from './file-bytes.ts';
import { UnreadableFile } from './unreadable-file.ts';

/**
 * Bytes 0x80 to 0x9f of windows-1252 (WHATWG Encoding Standard, index-windows-1252). Written out because
 * TextDecoder of Node.js 20 turns them into control characters.
 */
const windows1252 = '€\x81‚ƒ„…†‡ˆ‰Š‹Œ\x8dŽ\x8f\x90‘’“”•–—˜™š›œ\x9džŸ';

const decodeWindows1252 = (bytes: Buffer): string =>
  bytes
    .toString('latin1')
    .replace(/[\x80-\x9f]/g, (character) => windows1252[character.charCodeAt(0) - 0x80]!);

/** So much is parsed at one go before other requests get their turn. */
const PIECE_BYTES = 16 * 1024;

/** The text of a file, piece by piece, every line ending written as \n. */
export async function* decodeText(file: FileBytes, encoding: CsvShape['encoding']): AsyncGenerator<string> {
  const decoder = encoding === 'windows-1252' ? null : new TextDecoder(encoding, { fatal: true });
  const decode = (bytes: Buffer, more: boolean): string => {
    if (decoder === null) return decodeWindows1252(bytes);
    try {
      return decoder.decode(bytes, { stream: more });
    } catch {
      throw new UnreadableFile(
        `The file is not written in ${encoding.toUpperCase()}; choose another encoding.`,
      );
    }
  };

  // A piece may end between \r and \n.
  let heldBack = '';
  for await (const piece of file.read()) {
    for (let at = 0; at < piece.length; at += PIECE_BYTES) {
      await setImmediate();
      let text = heldBack + decode(piece.subarray(at, at + PIECE_BYTES), true);
      heldBack = text.endsWith('\r') ? '\r' : '';
      if (heldBack !== '') text = text.slice(0, -1);
      yield text.replace(/\r\n?/g, '\n');
    }
  }
  yield (heldBack + decode(Buffer.alloc(0), false)).replace(/\r\n?/g, '\n');
}

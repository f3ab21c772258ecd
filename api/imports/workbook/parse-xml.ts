import { setImmediate } from 'node:timers/promises';
import { SaxesParser } from 'saxes';
import { MAX_LINE_CHARACTERS } from '../import-bounds.ts';
import { UnreadableFile } from '../unreadable-file.ts';

export interface Tags {
  readonly open?: (name: string, attributes: Readonly<Record<string, string>>) => void;
  readonly text?: (text: string) => void;
  readonly close?: (name: string) => void;
}

/** Names without their prefix: programs differ in which they use. */
const local = (name: string): string => name.slice(name.indexOf(':') + 1);

/**
 * Reads XML as its bytes come; yields after every piece, so that the caller takes what it has read and others get
 * their turn. Entities of a document's own are never replaced, so that none can grow.
 *
 * @throws UnreadableFile where it is not well-formed, or one text in it is too long.
 */
export async function* parseXml(bytes: AsyncIterable<Buffer>, tags: Tags): AsyncGenerator<void> {
  const parser = new SaxesParser({ position: false });
  let sinceTag = 0;
  parser.on('opentag', ({ name, attributes }) => {
    sinceTag = 0;
    tags.open?.(local(name), attributes as Record<string, string>);
  });
  parser.on('closetag', ({ name }) => {
    sinceTag = 0;
    tags.close?.(local(name));
  });
  if (tags.text !== undefined) parser.on('text', tags.text);
  parser.on('error', () => {
    throw new UnreadableFile(
      'A part of the workbook is not well-formed XML; save it again in the program it comes from.',
    );
  });
  const decoder = new TextDecoder('utf-8');
  for await (const piece of bytes) {
    const text = decoder.decode(piece, { stream: true });
    sinceTag += text.length;
    parser.write(text);
    if (sinceTag > MAX_LINE_CHARACTERS + piece.length)
      throw new UnreadableFile(`A cell of the workbook holds more than ${MAX_LINE_CHARACTERS} characters.`);
    yield;
    await setImmediate();
  }
  parser.close();
  yield;
}

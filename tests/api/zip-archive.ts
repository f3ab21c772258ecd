import { crc32, deflateRawSync } from 'node:zlib';

interface Part {
  readonly name: string;
  readonly bytes: Uint8Array;
  /** What the archive says that the part inflates to, where it lies. */
  readonly claimedSize?: number;
}

/** A zip archive of these parts (APPNOTE 6.3), honest unless told otherwise. */
export function zipOf(parts: readonly Part[]): Buffer {
  const files: Buffer[] = [];
  const directory: Buffer[] = [];
  let at = 0;
  for (const { name, bytes, claimedSize = bytes.length } of parts) {
    const deflated = deflateRawSync(bytes, { level: 9 });
    const common = Buffer.alloc(26);
    common.writeUInt16LE(20, 0);
    common.writeUInt16LE(8, 4);
    common.writeUInt32LE(crc32(bytes), 10);
    common.writeUInt32LE(deflated.length, 14);
    common.writeUInt32LE(claimedSize, 18);
    common.writeUInt16LE(Buffer.byteLength(name), 22);
    const local = Buffer.concat([Buffer.from('PK\x03\x04', 'latin1'), common, Buffer.from(name), deflated]);
    const rest = Buffer.alloc(14);
    rest.writeUInt32LE(at, 10);
    directory.push(
      Buffer.concat([Buffer.from('PK\x01\x02\x14\0', 'latin1'), common, rest, Buffer.from(name)]),
    );
    files.push(local);
    at += local.length;
  }
  const list = Buffer.concat(directory);
  const end = Buffer.alloc(18);
  end.writeUInt16LE(parts.length, 4);
  end.writeUInt16LE(parts.length, 6);
  end.writeUInt32LE(list.length, 8);
  end.writeUInt32LE(at, 12);
  return Buffer.concat([...files, list, Buffer.from('PK\x05\x06', 'latin1'), end]);
}

const xml = (text: string): Buffer => Buffer.from(`<?xml version="1.0" encoding="UTF-8"?>${text}`);
const officeRelation = 'http://schemas.openxmlformats.org/officeDocument/2006/relationships';

/** A workbook of one sheet with this text as its data, and other parts put in or in place. */
export function workbookOf(sheet: string, others: readonly Part[] = []): Buffer {
  const parts: Part[] = [
    {
      name: '_rels/.rels',
      bytes: xml(
        `<Relationships><Relationship Id="r1" Type="${officeRelation}/officeDocument" Target="xl/workbook.xml"/></Relationships>`,
      ),
    },
    {
      name: 'xl/workbook.xml',
      bytes: xml('<workbook xmlns:r="x"><sheets><sheet name="One" r:id="r1"/></sheets></workbook>'),
    },
    {
      name: 'xl/_rels/workbook.xml.rels',
      bytes: xml(
        `<Relationships><Relationship Id="r1" Type="${officeRelation}/worksheet" Target="sheet1.xml"/></Relationships>`,
      ),
    },
    { name: 'xl/sheet1.xml', bytes: xml(`<worksheet>${sheet}</worksheet>`) },
  ];
  const replaced = new Set(others.map(({ name }) => name));
  return zipOf([...parts.filter(({ name }) => !replaced.has(name)), ...others]);
}

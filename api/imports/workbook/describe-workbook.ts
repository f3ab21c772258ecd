import { MAX_TEXTS_BYTES } from '../import-bounds.ts';
import { UnreadableFile } from '../unreadable-file.ts';
import { parseXml } from './parse-xml.ts';
import type { Archive } from './read-archive.ts';
import { showsDate } from './serial-date.ts';

/** Small parts: the list of sheets, the formats. */
const MAX_PART_BYTES = 8 * 1024 * 1024;

/** What has to be known of a workbook before a sheet of it can be read (SpreadsheetML, ECMA-376 part 1). */
export interface Workbook {
  readonly sheets: readonly { readonly name: string; readonly part: string }[];
  /** Dates count from 1904 instead of 1900. */
  readonly from1904: boolean;
  /** By the style of a cell: does it show a date? */
  readonly dateStyles: readonly boolean[];
}

const notWorkbook = (): UnreadableFile =>
  new UnreadableFile(
    'This is an archive, but not a workbook (.xlsx). Save the table as .xlsx or CSV, and choose that file.',
  );

async function drain(steps: AsyncGenerator<void>): Promise<void> {
  for await (const _ of steps);
}

/** Where a part that another one names lies in the archive. */
function placeOf(target: string, folder: string): string {
  const steps: string[] = [];
  const whole = target.startsWith('/') ? target : `${folder}/${target}`;
  for (const step of whole.split('/')) {
    if (step === '..') steps.pop();
    else if (step !== '' && step !== '.') steps.push(step);
  }
  return steps.join('/');
}

async function relationsOf(archive: Archive, part: string): Promise<readonly Record<string, string>[]> {
  const at = part.lastIndexOf('/');
  const name = `${part.slice(0, at + 1)}_rels/${part.slice(at + 1)}.rels`;
  if (!archive.has(name)) return [];
  const relations: Record<string, string>[] = [];
  const folder = part.slice(0, Math.max(at, 0));
  await drain(
    parseXml(archive.read(name, MAX_PART_BYTES), {
      open: (tag, { Id = '', Type = '', Target = '' }) => {
        if (tag === 'Relationship') relations.push({ id: Id, type: Type, part: placeOf(Target, folder) });
      },
    }),
  );
  return relations;
}

async function dateStylesOf(archive: Archive, part: string | undefined): Promise<readonly boolean[]> {
  if (part === undefined || !archive.has(part)) return [];
  const codes = new Map<number, string>();
  const styles: boolean[] = [];
  let inCellFormats = false;
  await drain(
    parseXml(archive.read(part, MAX_PART_BYTES), {
      open: (tag, attributes) => {
        if (tag === 'numFmt') codes.set(Number(attributes.numFmtId), attributes.formatCode ?? '');
        if (tag === 'cellXfs') inCellFormats = true;
        if (tag === 'xf' && inCellFormats) {
          const id = Number(attributes.numFmtId ?? 0);
          styles.push(showsDate(id, codes.get(id)));
        }
      },
      close: (tag) => {
        if (tag === 'cellXfs') inCellFormats = false;
      },
    }),
  );
  return styles;
}

export async function describeWorkbook(
  archive: Archive,
): Promise<Workbook & { readonly textsPart: string | null }> {
  const [main] = (await relationsOf(archive, '')).filter(({ type }) => type!.endsWith('/officeDocument'));
  if (main === undefined || !archive.has(main.part!)) throw notWorkbook();
  const relations = await relationsOf(archive, main.part!);
  const partOf = (kind: string): string | undefined =>
    relations.find(({ type }) => type!.endsWith(`/${kind}`))?.part;
  const sheets: { name: string; part: string }[] = [];
  let from1904 = false;
  await drain(
    parseXml(archive.read(main.part!, MAX_PART_BYTES), {
      open: (tag, attributes) => {
        if (tag === 'workbookPr') from1904 = ['1', 'true'].includes(attributes.date1904 ?? '');
        if (tag !== 'sheet') return;
        const id = Object.entries(attributes).find(([name]) => name.endsWith(':id'))?.[1];
        const relation = relations.find((one) => one.id === id);
        // Chart sheets have no cells.
        if (relation?.type?.endsWith('/worksheet') && archive.has(relation.part!))
          sheets.push({ name: attributes.name ?? '', part: relation.part! });
      },
    }),
  );
  if (sheets.length === 0) throw notWorkbook();
  return {
    sheets,
    from1904,
    dateStyles: await dateStylesOf(archive, partOf('styles')),
    textsPart: partOf('sharedStrings') ?? null,
  };
}

/** The texts that cells refer to by number. Phonetic readings beside them are left out. */
export async function readTexts(archive: Archive, part: string | null): Promise<readonly string[]> {
  if (part === null || !archive.has(part)) return [];
  const texts: string[] = [];
  let text = '';
  let inText = false;
  let phonetic = 0;
  await drain(
    parseXml(archive.read(part, MAX_TEXTS_BYTES), {
      open: (tag) => {
        if (tag === 'si') text = '';
        if (tag === 'rPh') phonetic += 1;
        inText = tag === 't' && phonetic === 0;
      },
      text: (piece) => {
        if (inText) text += piece;
      },
      close: (tag) => {
        if (tag === 't') inText = false;
        if (tag === 'rPh') phonetic -= 1;
        if (tag === 'si') texts.push(text);
      },
    }),
  );
  return texts;
}

/**
 * Old months of a plant as files: for each table and month one file of JSON lines, compressed (gzip, RFC 1952), and
 * a manifest that says what each holds. Any program can read them for as long as there are programs.
 */
import { createHash } from 'node:crypto';
import {
  closeSync,
  createReadStream,
  createWriteStream,
  fsyncSync,
  openSync,
  readFileSync,
  writeFileSync,
} from 'node:fs';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { Readable } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import { createGunzip, createGzip } from 'node:zlib';
import { type Row, rowDigester, type Table, type TableDigest } from '../backup/table-digests.ts';
import { CommandProblem } from '../console/command-problem.ts';

const FORMAT = 'runtrue archive 1';
const PAGE = 1_000;

/** An archive cannot be written or read; the message is one sentence for the person at the terminal. */
export class ArchiveProblem extends CommandProblem {
  override readonly name = 'ArchiveProblem';
}

export interface ArchivedFile extends TableDigest {
  readonly file: string;
  readonly table: string;
  /** 2025_09, in UTC. */
  readonly month: string;
  readonly columns: readonly string[];
  readonly key: Table['key'];
  /** SHA-256 of the file itself, so that a copy of it can be checked without reading it. */
  readonly fileDigest: string;
}

export interface ArchiveManifest {
  readonly format: typeof FORMAT;
  readonly writtenAt: string;
  /** Everything of these tables that was taken before this moment. */
  readonly before: string;
  readonly plant: number;
  readonly schema: number;
  readonly files: readonly ArchivedFile[];
}

const packed = (value: Row[string]): unknown =>
  Buffer.isBuffer(value) ? { bytes: value.toString('hex') } : value;
const unpacked = (value: unknown): Row[string] =>
  typeof value === 'object' && value !== null
    ? Buffer.from((value as { bytes: string }).bytes, 'hex')
    : (value as Row[string]);

function flush(path: string): void {
  const opened = openSync(path, 'r');
  fsyncSync(opened);
  closeSync(opened);
}

async function fileDigestOf(path: string): Promise<string> {
  const hash = createHash('sha256');
  await pipeline(createReadStream(path), hash);
  return hash.digest('hex');
}

/** Writes rows as they come, reads the file back, and says what is in it. */
export async function writeRows(
  folder: string,
  table: Table,
  month: string,
  pages: AsyncIterable<readonly Row[]>,
): Promise<ArchivedFile> {
  const file = `${table.name}-${month}.jsonl.gz`;
  const path = join(folder, file);
  const digester = rowDigester(table);
  async function* lines(): AsyncGenerator<string> {
    for await (const page of pages) {
      digester.add(page);
      for (const row of page) {
        const values = table.columns.map((column) => [column, packed(row[column] ?? null)]);
        yield `${JSON.stringify(Object.fromEntries(values))}\n`;
      }
    }
  }
  await pipeline(Readable.from(lines()), createGzip(), createWriteStream(path, { flags: 'wx' }));
  flush(path);
  const { columns, key } = table;
  const fileDigest = await fileDigestOf(path);
  const written = { file, table: table.name, month, columns, key, ...digester.end(), fileDigest };
  await checkFile(folder, written);
  return written;
}

/** The rows of a file, some at a time. */
export async function* readRows(folder: string, { file }: ArchivedFile): AsyncGenerator<Row[]> {
  const lines = createInterface({
    input: createReadStream(join(folder, file)).pipe(createGunzip()),
    crlfDelay: Number.POSITIVE_INFINITY,
  });
  let page: Row[] = [];
  for await (const line of lines) {
    const row = JSON.parse(line) as Record<string, unknown>;
    page.push(Object.fromEntries(Object.entries(row).map(([column, value]) => [column, unpacked(value)])));
    if (page.length < PAGE) continue;
    yield page;
    page = [];
  }
  if (page.length > 0) yield page;
}

export const tableOf = ({ table, columns, key }: ArchivedFile): Table => ({ name: table, columns, key });

/** Throws where a file is not what the manifest says. */
export async function checkFile(folder: string, given: ArchivedFile): Promise<void> {
  const digester = rowDigester(tableOf(given));
  try {
    if ((await fileDigestOf(join(folder, given.file))) !== given.fileDigest) {
      throw new ArchiveProblem(`The file ${given.file} is not the one that the manifest speaks of.`);
    }
    for await (const page of readRows(folder, given)) digester.add(page);
  } catch (error) {
    if (error instanceof ArchiveProblem) throw error;
    throw new ArchiveProblem(`The file ${given.file} cannot be read: ${(error as Error).message}.`);
  }
  const { rows, digest } = digester.end();
  if (rows === given.rows && digest === given.digest) return;
  throw new ArchiveProblem(
    `The file ${given.file} holds ${rows} rows that are not the ${given.rows} rows which were written.`,
  );
}

const MANIFEST = 'manifest.json';

export function writeManifest(folder: string, manifest: Omit<ArchiveManifest, 'format'>): void {
  const path = join(folder, MANIFEST);
  const text = `${JSON.stringify({ format: FORMAT, ...manifest }, null, 2)}\n`;
  writeFileSync(path, text, { flag: 'wx' });
  flush(path);
  flush(folder);
}

/** What tells one archive from another, wherever it lies. */
export const manifestDigestOf = (folder: string): Promise<string> => fileDigestOf(join(folder, MANIFEST));

export function readManifest(folder: string): ArchiveManifest {
  let manifest: ArchiveManifest;
  try {
    manifest = JSON.parse(readFileSync(join(folder, MANIFEST), 'utf8'));
  } catch (error) {
    throw new ArchiveProblem(`${folder} holds no archive: ${(error as Error).message}.`);
  }
  if (manifest.format !== FORMAT) throw new ArchiveProblem(`${folder} holds no archive of this version.`);
  for (const { file, table, columns } of manifest.files) {
    // They become part of paths and statements.
    if (![table, ...columns].every((name) => /^[a-z_]+$/.test(name)) || !/^[\w-]+\.jsonl\.gz$/.test(file)) {
      throw new ArchiveProblem(`The manifest in ${folder} names a file or table that no archive has.`);
    }
  }
  return manifest;
}

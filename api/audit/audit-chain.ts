import { hash } from 'node:crypto';
import type { Sql } from '../store/sql.ts';
import type { WriterMemory } from '../store/stream-memory.ts';
import {
  type ChainedTable,
  type ChainedTableName,
  chainedTables,
  type StoredValue,
} from './chained-tables.ts';

/** Digest of nothing: what the first entry of a chain builds on. */
export const GENESIS = Buffer.alloc(32);

/** Records in one entry at most: an import of a whole year is many entries. */
const MOST_RECORDS = 1_000;

const sha256 = (text: string | Buffer): Buffer => hash('sha256', text, 'buffer') as unknown as Buffer;

const plain = (value: StoredValue): string | number | null =>
  Buffer.isBuffer(value) ? value.toString('hex') : value;

/** What a digest covers of a row: its table and the values of all columns, in the order of chained-tables.ts. */
export function rowDigest(table: ChainedTableName, row: Readonly<Record<string, StoredValue>>): Buffer {
  const covered: (string | number | null)[] = [table];
  for (const column of chainedTables[table].columns) covered.push(plain(row[column]!));
  return sha256(JSON.stringify(covered));
}

/** `samples:17`: which row an entry speaks of. */
export function rowName(table: ChainedTableName, row: Readonly<Record<string, StoredValue>>): string {
  const { key }: ChainedTable = chainedTables[table];
  return `${table}:${key.map((column) => encodeURIComponent(String(plain(row[column]!)))).join('/')}`;
}

/** The digest of an entry. */
export function entryDigest(
  before: Buffer,
  { chain, no, records }: Omit<AuditEntryRow, 'digest'>,
  rowDigests: readonly Buffer[],
): Buffer {
  return sha256(Buffer.concat([before, Buffer.from(JSON.stringify([chain, no, records])), ...rowDigests]));
}

export interface AuditEntryRow {
  readonly chain: string;
  readonly no: number;
  readonly records: string;
  readonly digest: Buffer;
}

/** The last entry of a chain. */
export interface ChainHead {
  readonly no: number;
  readonly digest: Buffer;
}

const addEntry = 'insert into audit_entries (chain, no, records, digest) values (?, ?, ?, ?)';
const headSelect = 'select no, digest from audit_entries where chain = ? order by no desc limit 1';

/**
 * Collects what a transaction records and writes it into the chains before the commit: one entry a chain, so that a
 * sample costs one narrow row more. The primary key lets no two transactions continue a chain at the same place.
 */
export class AuditChain {
  #collected = new Map<string, { names: string[]; digests: Buffer[] }>();
  readonly #memory: WriterMemory;

  constructor(memory: WriterMemory) {
    this.#memory = memory;
  }

  /** The transaction failed. */
  undo(): void {
    this.#collected.clear();
  }

  /** `chain` is the stream, or '' for what belongs to none. */
  add(chain: string, table: ChainedTableName, row: Readonly<Record<string, StoredValue>>): void {
    let collected = this.#collected.get(chain);
    if (collected === undefined) {
      collected = { names: [], digests: [] };
      this.#collected.set(chain, collected);
    }
    const digest = rowDigest(table, row);
    const { rewritten }: ChainedTable = chainedTables[table];
    const name = rowName(table, row);
    // What the row said at that time is gone once it is written again: the entry keeps its digest.
    collected.names.push(rewritten ? `${name}=${digest.toString('hex')}` : name);
    collected.digests.push(digest);
  }

  /** Writes the entries; the last thing before the commit. */
  async seal(sql: Sql): Promise<void> {
    // In one order everywhere, so that two transactions never wait for each other.
    const chains = [...this.#collected].sort(([a], [b]) => (a < b ? -1 : 1));
    for (const [chain, { names, digests }] of chains) {
      const memory = this.#memory.of(chain);
      let head = memory.head ?? (await sql.one<ChainHead>(headSelect, chain)) ?? { no: 0, digest: GENESIS };
      for (let from = 0; from < names.length; from += MOST_RECORDS) {
        const records = names.slice(from, from + MOST_RECORDS).join(' ');
        const no = head.no + 1;
        const rows = digests.slice(from, from + MOST_RECORDS);
        const digest = entryDigest(head.digest, { chain, no, records }, rows);
        await sql.run(addEntry, chain, no, records, digest);
        head = { no, digest };
      }
      memory.head = head;
    }
    this.#collected.clear();
  }
}

import type { Sql } from '../store/sql.ts';
import { type AuditEntryRow, entryDigest, GENESIS, rowDigest, rowName } from './audit-chain.ts';
import {
  type ChainedTable,
  type ChainedTableName,
  chainedTables,
  type StoredValue,
} from './chained-tables.ts';

/** The end of a chain: who keeps it elsewhere can tell later that nothing up to it was rewritten. */
export interface ChainHead {
  readonly no: number;
  /** Hexadecimal. */
  readonly digest: string;
}

export interface ChainReport {
  readonly entries: number;
  /** Records that the entries speak of, by table. */
  readonly records: ReadonlyMap<ChainedTableName, number>;
  /** By chain: a stream, or '' for what belongs to none. */
  readonly heads: ReadonlyMap<string, ChainHead>;
  /** One sentence for each place that does not agree; none: nothing was changed, removed or slipped in. */
  readonly findings: readonly string[];
}

type Row = Readonly<Record<string, StoredValue>>;

/** Entries read at a time. */
const PAGE = 500;
/** Rows asked for at a time. */
const BATCH = 100;

const tableNames = Object.keys(chainedTables) as ChainedTableName[];
const definition = (table: ChainedTableName): ChainedTable => chainedTables[table];

interface Named {
  readonly table: ChainedTableName;
  /** As the entry writes it, without a digest. */
  readonly name: string;
  readonly key: readonly string[];
  /** Of a row that is written again and again: what it was then. */
  readonly digest: Buffer | null;
}

function namedIn(records: string): Named[] {
  return records.split(' ').map((text) => {
    const [name = '', digest] = text.split('=');
    const colon = name.indexOf(':');
    const table = name.slice(0, colon) as ChainedTableName;
    const key = name
      .slice(colon + 1)
      .split('/')
      .map(decodeURIComponent);
    return { table, name, key, digest: digest === undefined ? null : Buffer.from(digest, 'hex') };
  });
}

/** The rows of a table by the names that entries give them. */
async function rowsNamed(
  sql: Sql,
  table: ChainedTableName,
  named: readonly Named[],
): Promise<Map<string, Row>> {
  const { key, columns, from = table, where } = definition(table);
  const select = `select ${columns.join(', ')} from ${from} where ${where === undefined ? '' : `${where} and `}`;
  const found = new Map<string, Row>();
  const [only, second] = key;
  if (second === undefined) {
    const query = `${select} ${only} in (${Array(BATCH).fill('?').join(', ')})`;
    for (let start = 0; start < named.length; start += BATCH) {
      const keys = named.slice(start, start + BATCH).map((one) => one.key[0]!);
      // Always the same number of parameters, so that the statement is prepared once.
      while (keys.length < BATCH) keys.push(keys[0]!);
      for (const row of await sql.all<Row>(query, ...keys)) found.set(rowName(table, row), row);
    }
    return found;
  }
  const query = `${select} ${key.map((column) => `${column} = ?`).join(' and ')}`;
  for (const one of named) {
    const row = await sql.one<Row>(query, ...one.key);
    if (row !== null) found.set(rowName(table, row), row);
  }
  return found;
}

const shownChain = (chain: string): string => (chain === '' ? 'the plant' : `the stream ${chain}`);

/**
 * Goes through the whole chain of digests and compares it with the records as they stand. Finds a changed, removed or
 * added record, and a changed, removed or added entry. It cannot tell by itself that somebody removed the newest
 * entries together with their records, or calculated the whole chain anew: keep the heads elsewhere and give them as
 * `knownHeads`.
 *
 * @param sql best inside one read transaction, so that nothing arrives in between
 */
export async function verifyChain(
  sql: Sql,
  {
    knownHeads = new Map(),
    archived = new Map(),
    onProgress = () => {},
  }: {
    readonly knownHeads?: ReadonlyMap<string, ChainHead>;
    /** Digests of rows that lie in archives, by the name that entries give them: `samples:17`. */
    readonly archived?: ReadonlyMap<string, Buffer>;
    readonly onProgress?: (entries: number) => void;
  } = {},
): Promise<ChainReport> {
  const findings: string[] = [];
  const counts = new Map<ChainedTableName, number>(tableNames.map((table) => [table, 0]));
  const heads = new Map<string, ChainHead>();
  /** Of the rows that are written again and again: the digest of the newest state that an entry speaks of. */
  const newest = new Map<string, Buffer>();
  /** Rows that only an archive has. */
  const away = new Map<ChainedTableName, number>();
  let entries = 0;

  const chains = await sql.all<{ chain: string }>('select distinct chain from audit_entries order by chain');
  for (const { chain } of chains) {
    const known = knownHeads.get(chain);
    let before: Buffer = GENESIS;
    let last = 0;
    for (;;) {
      const page = await sql.all<Omit<AuditEntryRow, 'chain'>>(
        'select no, records, digest from audit_entries where chain = ? and no > ? order by no limit ?',
        chain,
        last,
        PAGE,
      );
      const named = page.map(({ records }) => namedIn(records));
      const rows = new Map<ChainedTableName, Map<string, Row>>();
      for (const table of tableNames) {
        if (definition(table).rewritten) continue;
        const wanted = named.flat().filter((one) => one.table === table);
        if (wanted.length > 0) rows.set(table, await rowsNamed(sql, table, wanted));
      }
      for (const [index, entry] of page.entries()) {
        if (entry.no !== last + 1) {
          findings.push(`Entries ${last + 1} to ${entry.no - 1} of ${shownChain(chain)} are missing.`);
        }
        const digests: Buffer[] = [];
        const missing: string[] = [];
        for (const { table, name, digest: noted } of named[index]!) {
          counts.set(table, (counts.get(table) ?? 0) + 1);
          if (noted !== null) {
            newest.set(name, noted);
            digests.push(noted);
            continue;
          }
          const row = rows.get(table)?.get(name);
          const digest = row === undefined ? archived.get(name) : rowDigest(table, row);
          if (row === undefined && digest !== undefined) away.set(table, (away.get(table) ?? 0) + 1);
          if (digest === undefined) missing.push(name);
          else digests.push(digest);
        }
        if (missing.length > 0) {
          findings.push(
            `Entry ${entry.no} of ${shownChain(chain)} speaks of ${missing.join(', ')}, which is not there any more.`,
          );
        } else if (!entryDigest(before, { chain, ...entry }, digests).equals(entry.digest)) {
          findings.push(
            `Entry ${entry.no} of ${shownChain(chain)} does not agree with its records (${entry.records.slice(0, 200)}): one of them, or the entry, was changed after it was stored.`,
          );
        }
        if (known?.no === entry.no && known.digest !== entry.digest.toString('hex')) {
          findings.push(
            `Entry ${entry.no} of ${shownChain(chain)} is another one than was noted: the chain was written anew.`,
          );
        }
        before = entry.digest;
        last = entry.no;
      }
      entries += page.length;
      onProgress(entries);
      if (page.length < PAGE) break;
    }
    heads.set(chain, { no: last, digest: before.toString('hex') });
  }
  for (const [chain, known] of knownHeads) {
    const no = heads.get(chain)?.no ?? 0;
    if (no < known.no) {
      findings.push(
        `${shownChain(chain)} ends with entry ${no}, but entry ${known.no} was noted: the newest ones were removed.`,
      );
    }
  }

  for (const table of tableNames) {
    const here = counts.get(table)! - (away.get(table) ?? 0);
    findings.push(...(await leftOver(sql, table, here, newest)));
  }
  return { entries, records: counts, heads, findings };
}

/** What stands in a table and no entry speaks of. */
async function leftOver(
  sql: Sql,
  table: ChainedTableName,
  named: number,
  newest: ReadonlyMap<string, Buffer>,
): Promise<string[]> {
  const { columns, from = table, where, rewritten } = definition(table);
  const condition = where === undefined ? '' : ` where ${where}`;
  if (!rewritten) {
    const stored = await sql.one<{ count: number }>(`select count(*) as count from ${from}${condition}`);
    if (stored!.count <= named) return [];
    return [`The table ${from} holds ${stored!.count - named} records more than the entries speak of.`];
  }
  const findings: string[] = [];
  for (const row of await sql.all<Row>(`select ${columns.join(', ')} from ${from}`)) {
    const name = rowName(table, row);
    const digest = newest.get(name);
    if (digest === undefined) findings.push(`No entry speaks of ${name}.`);
    else if (!digest.equals(rowDigest(table, row))) {
      findings.push(`${name} is not what was last stored of it: it was changed afterwards.`);
    }
  }
  const stored = [...newest.keys()].filter((name) => name.startsWith(`${table}:`)).length;
  const there = await sql.one<{ count: number }>(`select count(*) as count from ${from}`);
  if (there!.count < stored)
    findings.push(`${stored - there!.count} rows of ${from} are not there any more.`);
  return findings;
}

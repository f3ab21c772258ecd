import { checkFile, readManifest, readRows } from '../archive/archive-files.ts';
import { rowDigest, rowName } from './audit-chain.ts';
import {
  type ChainedTable,
  type ChainedTableName,
  chainedTables,
  type StoredValue,
} from './chained-tables.ts';

/** The digests of all rows in an archive, by the name that entries of the chain give them. */
export async function archivedRows(folder: string): Promise<ReadonlyMap<string, Buffer>> {
  const digests = new Map<string, Buffer>();
  for (const file of readManifest(folder).files) {
    await checkFile(folder, file);
    const tables = (Object.keys(chainedTables) as ChainedTableName[]).filter((table) => {
      const { from = table }: ChainedTable = chainedTables[table];
      return from === file.table;
    });
    for await (const rows of readRows(folder, file)) {
      for (const row of rows as Readonly<Record<string, StoredValue>>[]) {
        for (const table of tables) digests.set(rowName(table, row), rowDigest(table, row));
      }
    }
  }
  return digests;
}

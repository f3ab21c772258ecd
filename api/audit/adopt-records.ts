import type { Store } from '../store/store.ts';

/**
 * Takes records from before the chain of digests into it, as they stand. A database that has its chain is left
 * alone.
 */
export async function adoptRecords(store: Store): Promise<void> {
  const chained = await store.sql.one('select 1 as one from audit_entries limit 1');
  if (chained !== null) return;
  await store.transaction((transaction) => transaction.adoptRecords());
}

/** Restarts as they are stored: each change of a set-up, and what people stated about it, in its order. */
import type { FirstPieceResult, PlannedFirstPiece, RestartEntryKind, RestartKind } from '../schemas.ts';
import type { Sql } from '../store/sql.ts';
import type { StoreTransaction } from '../store/store.ts';

export interface RestartRow {
  readonly no: number;
  /** The id of the event that changed the set-up. */
  readonly id: string;
  readonly lineId: string;
  readonly stationId: string | null;
  readonly kind: RestartKind;
  readonly at: number;
  /** The model that runs from then on; null where nobody had said. */
  readonly modelId: string | null;
  /** What must be measured, as it was when the change began. */
  readonly plan: readonly PlannedFirstPiece[];
  /** Earlier changes that were never approved, and can no longer be. */
  readonly overtakes: readonly string[];
  /** Since when parts are made without an approved first piece: earlier than `at` where it overtakes others. */
  readonly unapprovedSince: number;
  readonly personId: string;
  readonly recordedAt: number;
}

export interface RestartEntryRow {
  readonly restartNo: number;
  /** The id that the sender chose; of one by the software, that of the restart which overtook it. */
  readonly id: string;
  readonly kind: RestartEntryKind;
  readonly at: number;
  readonly personId: string;
  readonly text: string;
  /** What was measured by then; null where it was overtaken. */
  readonly results: readonly FirstPieceResult[] | null;
}

type Stored<Row, Json extends keyof Row> = Omit<Row, Json> & { readonly [K in Json]: string | null };

const restartSelect = `select no, id, line_id as "lineId", station_id as "stationId", kind, at,
  model_id as "modelId", plan, overtakes, unapproved_since as "unapprovedSince", person_id as "personId",
  recorded_at as "recordedAt" from restarts`;
const entrySelect = `select restart_no as "restartNo", id, kind, at, person_id as "personId", text, results
  from restart_entries`;

const restartRow = (row: Stored<RestartRow, 'plan' | 'overtakes'>): RestartRow => ({
  ...row,
  plan: JSON.parse(row.plan!),
  overtakes: JSON.parse(row.overtakes!),
});
const entryRow = (row: Stored<RestartEntryRow, 'results'>): RestartEntryRow => ({
  ...row,
  results: row.results === null ? null : JSON.parse(row.results),
});

export async function restartOf(sql: Sql, id: string): Promise<RestartRow | null> {
  const row = await sql.one<Stored<RestartRow, 'plan' | 'overtakes'>>(`${restartSelect} where id = ?`, id);
  return row === null ? null : restartRow(row);
}

/** Those whose first piece is not approved, oldest first; of one line, or of the plant. */
export async function openRestarts(sql: Sql, lineId?: string): Promise<readonly RestartRow[]> {
  const open = `${restartSelect} where no in (select restart_no from open_restarts`;
  const rows =
    lineId === undefined
      ? await sql.all<Stored<RestartRow, 'plan' | 'overtakes'>>(`${open}) order by at, no`)
      : await sql.all<Stored<RestartRow, 'plan' | 'overtakes'>>(
          `${open} where line_id = ?) order by at, no`,
          lineId,
        );
  return rows.map(restartRow);
}

/** Those of a line, whatever became of them, the newest first. */
export async function restartsOfLine(
  sql: Sql,
  lineId: string,
  limit: number,
): Promise<readonly RestartRow[]> {
  const rows = await sql.all<Stored<RestartRow, 'plan' | 'overtakes'>>(
    `${restartSelect} where line_id = ? order by at desc, no desc limit ?`,
    lineId,
    limit,
  );
  return rows.map(restartRow);
}

/** Those of a line after a moment, oldest first. */
export async function restartsAfter(sql: Sql, lineId: string, at: number): Promise<readonly RestartRow[]> {
  const rows = await sql.all<Stored<RestartRow, 'plan' | 'overtakes'>>(
    `${restartSelect} where line_id = ? and at > ? order by at, no`,
    lineId,
    at,
  );
  return rows.map(restartRow);
}

/** Oldest first. */
export async function restartEntries(sql: Sql, restartNo: number): Promise<readonly RestartEntryRow[]> {
  const rows = await sql.all<Stored<RestartEntryRow, 'results'>>(
    `${entrySelect} where restart_no = ? order by no`,
    restartNo,
  );
  return rows.map(entryRow);
}

export async function restartEntry(sql: Sql, id: string): Promise<RestartEntryRow | null> {
  const row = await sql.one<Stored<RestartEntryRow, 'results'>>(`${entrySelect} where id = ?`, id);
  return row === null ? null : entryRow(row);
}

export async function addRestart(store: StoreTransaction, row: Omit<RestartRow, 'no'>): Promise<RestartRow> {
  const no = await store.addNumbered('restarts', {
    id: row.id,
    line_id: row.lineId,
    station_id: row.stationId,
    kind: row.kind,
    at: row.at,
    model_id: row.modelId,
    plan: JSON.stringify(row.plan),
    overtakes: JSON.stringify(row.overtakes),
    unapproved_since: row.unapprovedSince,
    person_id: row.personId,
    recorded_at: row.recordedAt,
  });
  await store.sql.run('insert into open_restarts (restart_no, line_id) values (?, ?)', no, row.lineId);
  return { no, ...row };
}

/** Adds what was stated, and keeps in step with it whether the restart is open. */
export async function addRestartEntry(
  store: StoreTransaction,
  { no, lineId }: RestartRow,
  entry: RestartEntryRow,
): Promise<void> {
  await store.addNumbered('restart_entries', {
    restart_no: entry.restartNo,
    id: entry.id,
    kind: entry.kind,
    at: entry.at,
    person_id: entry.personId,
    text: entry.text,
    results: entry.results === null ? null : JSON.stringify(entry.results),
  });
  const isOpen = entry.kind === 'stated' || entry.kind === 'refused';
  await store.sql.run(
    isOpen
      ? 'insert into open_restarts (restart_no, line_id) values (?, ?) on conflict (restart_no) do nothing'
      : 'delete from open_restarts where restart_no = ? and line_id = ?',
    no,
    lineId,
  );
}

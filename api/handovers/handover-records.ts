import type { HandoverState, OpenMatter, OpenWork } from '../schemas.ts';
import type { Sql } from '../store/sql.ts';
import { uuidBytes } from '../store/uuid.ts';

export interface HandoverRow {
  readonly no: number;
  readonly open: OpenWork;
  readonly words: string;
  readonly personId: string;
  readonly at: number;
  readonly end: HandoverEndRow | null;
}

export interface HandoverEndRow {
  readonly handoverNo: number;
  readonly kind: 'taken' | 'withdrawn';
  readonly words: string;
  readonly openedSince: readonly OpenMatter[];
  readonly personId: string;
  readonly at: number;
}

interface Stored {
  readonly no: number;
  readonly open: string;
  readonly words: string;
  readonly personId: string;
  readonly at: number;
  readonly endKind: HandoverEndRow['kind'] | null;
  readonly endWords: string | null;
  readonly endOpenedSince: string | null;
  readonly endPersonId: string | null;
  readonly endAt: number | null;
}

const select = `select handovers.no, open, handovers.words, handovers.person_id as "personId", handovers.at,
  handover_ends.kind as "endKind", handover_ends.words as "endWords", opened_since as "endOpenedSince",
  handover_ends.person_id as "endPersonId", handover_ends.at as "endAt"
  from handovers left join handover_ends on handover_no = handovers.no`;

const row = (stored: Stored): HandoverRow => ({
  no: stored.no,
  open: JSON.parse(stored.open),
  words: stored.words,
  personId: stored.personId,
  at: stored.at,
  end:
    stored.endKind === null
      ? null
      : {
          handoverNo: stored.no,
          kind: stored.endKind,
          words: stored.endWords!,
          openedSince: JSON.parse(stored.endOpenedSince!),
          personId: stored.endPersonId!,
          at: stored.endAt!,
        },
});

async function one(sql: Sql, where: string, value: unknown): Promise<HandoverRow | null> {
  const stored = await sql.one<Stored>(`${select} where ${where}`, value);
  return stored === null ? null : row(stored);
}

export const handoverNo = (sql: Sql, no: number): Promise<HandoverRow | null> =>
  one(sql, 'handovers.no = ?', no);

/** By the id that the sender chose for the handover itself, or for its end. */
export const handoverById = (sql: Sql, id: string): Promise<HandoverRow | null> =>
  one(sql, 'handovers.id = ?', uuidBytes(id));
export const handoverByEnd = (sql: Sql, id: string): Promise<HandoverRow | null> =>
  one(sql, 'handover_ends.id = ?', uuidBytes(id));

/** What one person has given and nobody has answered. */
export const waitingOf = (sql: Sql, personId: string): Promise<HandoverRow | null> =>
  one(sql, 'handover_ends.no is null and handovers.person_id = ? order by handovers.no limit 1', personId);

const inState: Record<HandoverState, string> = {
  waiting: 'handover_ends.no is null',
  taken: `handover_ends.kind = 'taken'`,
  withdrawn: `handover_ends.kind = 'withdrawn'`,
};

export interface HandoverQuery {
  readonly state?: HandoverState;
  /** Only later ones, in order of arrival instead of newest first. */
  readonly after?: number;
  readonly limit: number;
}

export async function handovers(sql: Sql, { state, after, limit }: HandoverQuery): Promise<HandoverRow[]> {
  const rows = await sql.all<Stored>(
    `${select} where handovers.no > ? ${state === undefined ? '' : `and ${inState[state]}`}
     order by handovers.no ${after === undefined ? 'desc' : ''} limit ?`,
    after ?? 0,
    limit,
  );
  return rows.map(row);
}

/** When the newest one was given that was not withdrawn; null where there was none by then. */
export async function latestHandoverAt(sql: Sql, now: number): Promise<number | null> {
  const latest = await sql.one<{ at: number }>(
    `select handovers.at from handovers left join handover_ends on handover_no = handovers.no
     where coalesce(handover_ends.kind, '') <> 'withdrawn' and handovers.at <= ? order by handovers.no desc limit 1`,
    now,
  );
  return latest?.at ?? null;
}

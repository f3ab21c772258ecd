/**
 * Which months of a plant lie in archives and in its database no longer. The notes of taking out and reading back say
 * so; they are records like all others, so every backup, restore and move carries them.
 */
import type { Sql } from '../store/sql.ts';
import type { AuditNote } from '../store/store.ts';
import type { ArchivedFile } from './archive-files.ts';

/** An archive that a plant needs to be whole. */
export interface ArchiveAway {
  /** Where it lay when its months were taken out. */
  readonly folder: string;
  /** SHA-256 of its manifest.json, which in turn names the digest of each file; null: taken out before that was noted. */
  readonly manifestDigest: string | null;
  /** In order, such as 2025_08; empty where it was not noted. */
  readonly months: readonly string[];
  readonly rows: number;
}

interface Detail {
  readonly manifestDigest: string;
  readonly files: readonly Pick<ArchivedFile, 'table' | 'month' | 'rows' | 'digest'>[];
}

const TAKEN_OUT = 'took old months out';
const READ_BACK = 'read old months back';

/** What is noted with the rows themselves, in one transaction. */
export const archiveNote = (
  step: 'taken out' | 'read back',
  folder: string,
  manifestDigest: string,
  files: readonly ArchivedFile[],
  at: number,
): AuditNote => {
  const detail: Detail = {
    manifestDigest,
    files: files.map(({ table, month, rows, digest }) => ({ table, month, rows, digest })),
  };
  return { at, personId: null, what: step === 'taken out' ? TAKEN_OUT : READ_BACK, about: folder, detail };
};

/** Oldest first. */
export async function archivesAway(sql: Sql): Promise<readonly ArchiveAway[]> {
  const notes = await sql.all<{ what: string; about: string; detail: string }>(
    'select what, about, detail from audit_notes where what in (?, ?) order by no',
    TAKEN_OUT,
    READ_BACK,
  );
  // By what is in a file, not by its place: it may be read back from a copy.
  const nameOf = ({ table, month, digest }: Detail['files'][number]) => `${table} ${month} ${digest}`;
  const away = new Map<string, { readonly detail: Detail | null; readonly left: Map<string, number> }>();
  for (const { what, about, detail: text } of notes) {
    const detail = JSON.parse(text) as Detail | null;
    if (what === TAKEN_OUT) {
      const left = new Map(detail?.files.map((file) => [nameOf(file), file.rows]));
      away.set(about, { detail, left });
    } else if (detail === null) away.delete(about);
    else {
      for (const [folder, { left, detail: taken }] of away) {
        for (const file of detail.files) left.delete(nameOf(file));
        if (taken !== null && left.size === 0) away.delete(folder);
      }
    }
  }
  return [...away].map(([folder, { detail, left }]) => ({
    folder,
    manifestDigest: detail?.manifestDigest ?? null,
    months: [...new Set([...left.keys()].map((name) => name.split(' ')[1]!))].sort(),
    rows: [...left.values()].reduce((sum, rows) => sum + rows, 0),
  }));
}

/** "2025-08, 2025-09 in /mnt/archive/2025 (manifest.json with SHA-256 …)". */
export function shownArchive({ folder, manifestDigest, months }: ArchiveAway): string {
  const named =
    months.length === 0 ? 'old months' : months.map((month) => month.replace('_', '-')).join(', ');
  return `${named} in ${folder}${manifestDigest === null ? '' : ` (manifest.json with SHA-256 ${manifestDigest})`}`;
}

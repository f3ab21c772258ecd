import type { BadRow } from '../schemas.ts';
import { MAX_BAD_ROWS } from './import-bounds.ts';
import { shownText } from './shown-text.ts';

/** Collects what is wrong in a file: the first ones to be shown, and how many there are. */
export function createBadRows() {
  const rows: BadRow[] = [];
  let count = 0;
  return {
    rows: rows as readonly BadRow[],
    count: () => count,
    add(line: number, column: string | null, text: string, problem: string): void {
      count += 1;
      if (rows.length === MAX_BAD_ROWS) return;
      rows.push({ line, column, text: shownText(text), problem });
    },
  };
}
export type BadRows = ReturnType<typeof createBadRows>;

import type { Merge, SheetRow } from './read-cells.ts';

/** What a whole sheet must be looked through for before its first row can be named. */
export interface SheetFrame {
  /** Columns up to the last one with anything in it. */
  readonly width: number;
  readonly merges: readonly Merge[];
}

const covers = (merge: Merge, row: number, column: number): boolean =>
  row >= merge.firstRow && row <= merge.lastRow && column >= merge.firstColumn && column <= merge.lastColumn;

/** A line over a whole table, such as its title: one text, where the table has three columns or more. */
const isTitle = ({ cells }: SheetRow, { width }: SheetFrame): boolean => width > 2 && cells.size === 1;

/**
 * Does this row still belong to the head? Yes inside a merged cell that began in the head; and below cells merged side
 * by side, whose columns it tells apart, unless it fills a column that has its name already.
 */
export function continuesHead(head: readonly SheetRow[], next: SheetRow, { merges }: SheetFrame): boolean {
  const first = head[0]!.line;
  const inHead = merges.filter(({ firstRow }) => firstRow >= first && firstRow < next.line);
  if (inHead.some(({ lastRow }) => lastRow >= next.line)) return true;
  const last = head.at(-1)!.line;
  const groups = inHead.filter(
    ({ firstRow, lastRow, firstColumn, lastColumn }) =>
      lastRow === last && lastColumn > firstColumn && firstRow <= last,
  );
  if (groups.length === 0) return false;
  return [...next.cells.keys()].every((column) => groups.some((group) => covers(group, last, column)));
}

/** Rows above the head that name no column. */
export const precedesHead = isTitle;

/** One name for each column, from all rows of the head; a merged cell names every column below it. */
export function headNames(head: readonly SheetRow[], { width, merges }: SheetFrame): readonly string[] {
  const textAt = ({ line, cells }: SheetRow, column: number): string => {
    const merge = merges.find((one) => covers(one, line, column));
    if (merge === undefined) return cells.get(column) ?? '';
    return head.find((row) => row.line === merge.firstRow)?.cells.get(merge.firstColumn) ?? '';
  };
  return Array.from({ length: width }, (_, column) => {
    const names = head.map((row) => textAt(row, column).trim()).filter((name) => name !== '');
    return [...new Set(names)].join(' ');
  });
}

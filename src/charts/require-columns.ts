import { requireSameLength } from '../checks.ts';

/** Lists that need one entry each for every entry of another one; an error names the list. */
export function requireColumns(
  columns: Readonly<Record<string, ArrayLike<number>>>,
  length: number,
  argument: string,
  expectedArgument: string,
): void {
  for (const [name, column] of Object.entries(columns))
    requireSameLength(column.length, length, `${argument}${name}`, expectedArgument);
}

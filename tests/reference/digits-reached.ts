/** Digits that agree with certified values, and the table of them that a test prints. */

/** Log relative error: the number of correct digits. Certified values have fifteen. */
export function digitsReached(actual: number, certified: string): number {
  const exact = Number(certified);
  if (actual === exact) return 15;
  // Where 0 is certified, the digits after the point.
  const scale = exact === 0 ? 1 : Math.abs(exact);
  return Math.max(0, Math.min(15, -Math.log10(Math.abs(actual - exact) / scale)));
}

/** The fewest digits among several values. */
export function fewestDigits(actual: readonly number[], certified: readonly string[]): number {
  return Math.min(...certified.map((exact, index) => digitsReached(actual[index]!, exact)));
}

/** One line for each case: name, then the digits of each figure. */
export function digitsTable(
  figures: readonly string[],
  rows: readonly { readonly id: string; readonly digits: readonly number[] }[],
): string {
  const width = Math.max(...figures.map((figure) => figure.length)) + 2;
  const line = (name: string, cells: readonly string[]) =>
    `${name.padEnd(16)}${cells.map((cell) => cell.padStart(width)).join('')}\n`;
  return (
    line('digits reached', figures) +
    rows
      .map(({ id, digits }) =>
        line(
          id,
          digits.map((digit) => digit.toFixed(1)),
        ),
      )
      .join('')
  );
}

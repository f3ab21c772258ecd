/** Names for the columns of a file: those of its header, else "Column 3". */
export const columnNames = (first: readonly string[], headerRow: boolean): readonly string[] =>
  first.map((cell, index) => (headerRow && cell.trim() !== '' ? cell.trim() : `Column ${index + 1}`));

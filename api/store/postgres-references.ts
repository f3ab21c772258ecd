/** A reference from one table to another, as a schema step states it. */
export interface Reference {
  readonly table: string;
  readonly columns: string;
  readonly target: string;
  readonly targetColumns: string;
  /** `on delete cascade` and the like. */
  readonly action: string;
}

/** Parts between commas that stand in no brackets. */
function partsOf(text: string): string[] {
  const parts: string[] = [];
  let depth = 0;
  let from = 0;
  for (let index = 0; index < text.length; index++) {
    if (text[index] === '(') depth += 1;
    else if (text[index] === ')') depth -= 1;
    else if (text[index] === ',' && depth === 0) {
      parts.push(text.slice(from, index));
      from = index + 1;
    }
  }
  return [...parts, text.slice(from)].map((part) => part.trim()).filter((part) => part !== '');
}

const ofColumn =
  /\s+references\s+(\w+)(?:\s*\(([^)]*)\))?((?:\s+on\s+(?:delete|update)\s+(?:cascade|restrict|set null|no action))*)/i;
const ofTable = /^foreign key\s*\(([^)]*)\)(\s+references.*)$/is;

/**
 * Takes the references out of the text of a schema step. Every key begins with the plant here, so a reference holds
 * only together with it, and is made when both tables have it.
 */
export function takeReferences(text: string): { readonly text: string; readonly references: Reference[] } {
  const references: Reference[] = [];
  const take = (table: string, columns: string, clause: RegExpExecArray): void => {
    const [, target, targetColumns, action] = clause;
    references.push({
      table,
      columns,
      target: target!,
      targetColumns: targetColumns ?? columns,
      action: action!.trim(),
    });
  };
  const without = (table: string, part: string): string => {
    const key = ofTable.exec(part);
    if (key !== null) {
      take(table, key[1]!, ofColumn.exec(key[2]!)!);
      return '';
    }
    const clause = ofColumn.exec(part);
    if (clause === null) return part;
    take(table, part.split(/\s/, 1)[0]!, clause);
    return part.replace(clause[0], '');
  };
  const statements = text
    .replace(/--[^\n]*/g, '')
    .split(';')
    .map((statement) => statement.trim())
    .filter((statement) => statement !== '')
    .map((statement) => {
      const made = /^(create table\s+(\w+)\s*\()(.*)(\)[^)]*)$/is.exec(statement);
      if (made !== null) {
        const [, begin, table, body, end] = made;
        const parts = partsOf(body!).map((part) => without(table!, part));
        return `${begin}${parts.filter((part) => part !== '').join(', ')}${end}`;
      }
      const added = /^(alter table\s+(\w+)\s+add column\s+)(.*)$/is.exec(statement);
      return added === null ? statement : `${added[1]}${without(added[2]!, added[3]!)}`;
    });
  return { text: statements.map((statement) => `${statement};`).join('\n'), references };
}

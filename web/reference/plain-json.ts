const WIDTH = 88;

const fieldsOf = (value: object): [string, unknown][] =>
  Object.entries(value).filter(([, inner]) => inner !== undefined);

/** All on one line. */
function inLine(value: unknown): string {
  if (Array.isArray(value)) return `[${value.map(inLine).join(', ')}]`;
  if (typeof value !== 'object' || value === null) return JSON.stringify(value) ?? 'null';
  const fields = fieldsOf(value).map(([name, inner]) => `${JSON.stringify(name)}: ${inLine(inner)}`);
  return fields.length === 0 ? '{}' : `{ ${fields.join(', ')} }`;
}

/** JSON for reading: what fits on a line stays on one. */
export function plainJson(value: unknown, indent = ''): string {
  const line = inLine(value);
  if (typeof value !== 'object' || value === null || indent.length + line.length <= WIDTH) return line;
  const deeper = `${indent}  `;
  if (Array.isArray(value)) {
    // Long lists of numbers run on instead of standing one to a line.
    if (value.every((one) => typeof one !== 'object' || one === null)) return wrapped(value, deeper, indent);
    return `[\n${value.map((one) => deeper + plainJson(one, deeper)).join(',\n')}\n${indent}]`;
  }
  const fields = fieldsOf(value).map(
    ([name, inner]) => `${deeper}${JSON.stringify(name)}: ${plainJson(inner, deeper)}`,
  );
  return `{\n${fields.join(',\n')}\n${indent}}`;
}

function wrapped(values: readonly unknown[], deeper: string, indent: string): string {
  const lines = [''];
  for (const value of values.map(inLine)) {
    const last = lines.at(-1)!;
    if (last !== '' && deeper.length + last.length + value.length > WIDTH) lines.push(value);
    else lines[lines.length - 1] = last === '' ? value : `${last}, ${value}`;
  }
  return `[\n${lines.map((text) => deeper + text).join(',\n')}\n${indent}]`;
}

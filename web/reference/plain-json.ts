const WIDTH = 88;

/** JSON for reading: what fits on a line stays on one, numbers as they are. */
export function plainJson(value: unknown, indent = ''): string {
  const line = JSON.stringify(value, null, 1)?.replace(/\n\s*/g, ' ') ?? 'undefined';
  if (typeof value !== 'object' || value === null || indent.length + line.length <= WIDTH) return line;
  const deeper = `${indent}  `;
  if (Array.isArray(value)) {
    // Long lists of numbers run on instead of standing one to a line.
    if (value.every((one) => typeof one !== 'object' || one === null)) return wrapped(value, deeper, indent);
    return `[\n${value.map((one) => deeper + plainJson(one, deeper)).join(',\n')}\n${indent}]`;
  }
  const fields = Object.entries(value)
    .filter(([, inner]) => inner !== undefined)
    .map(([name, inner]) => `${deeper}${JSON.stringify(name)}: ${plainJson(inner, deeper)}`);
  return `{\n${fields.join(',\n')}\n${indent}}`;
}

function wrapped(values: readonly unknown[], deeper: string, indent: string): string {
  const lines = [''];
  for (const value of values.map((one) => JSON.stringify(one))) {
    const last = lines.at(-1)!;
    if (last !== '' && deeper.length + last.length + value.length > WIDTH) lines.push(value);
    else lines[lines.length - 1] = last === '' ? value : `${last}, ${value}`;
  }
  return `[\n${lines.map((text) => deeper + text).join(',\n')}\n${indent}]`;
}

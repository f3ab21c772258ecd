/**
 * Reads OpenMetrics text 1.0 (openmetrics.io, "Exposition format", from memory) and throws at whatever breaks its
 * rules: order, types, suffixes, labels, buckets, the end.
 */
interface Point {
  readonly name: string;
  readonly labels: Readonly<Record<string, string>>;
  readonly value: number;
}
export interface Family {
  readonly type: string;
  readonly help: string;
  readonly points: Point[];
}

const suffixes: Readonly<Record<string, readonly string[]>> = {
  counter: ['_total', '_created'],
  gauge: [''],
  histogram: ['_bucket', '_count', '_sum', '_created'],
  summary: ['', '_count', '_sum', '_created'],
  info: ['_info'],
  unknown: [''],
};

function readLabels(text: string): Record<string, string> {
  const labels: Record<string, string> = {};
  let rest = text;
  while (rest !== '') {
    const found = /^([a-zA-Z_]\w*)="((?:[^"\\\n]|\\[\\"n])*)"(?:,|$)/.exec(rest);
    if (found === null) throw new Error(`labels ${text}`);
    if (found[1]! in labels) throw new Error(`label ${found[1]} twice`);
    labels[found[1]!] = found[2]!;
    rest = rest.slice(found[0].length);
  }
  return labels;
}

function readValue(text: string): number {
  if (text === '+Inf') return Number.POSITIVE_INFINITY;
  if (text === '-Inf') return Number.NEGATIVE_INFINITY;
  // In any case, as infinity is.
  const none = /^nan$/i.test(text);
  const value = none ? Number.NaN : Number(text);
  if (!none && Number.isNaN(value)) throw new Error(`value ${text}`);
  return value;
}

export function readOpenMetrics(text: string): Map<string, Family> {
  if (!text.endsWith('# EOF\n')) throw new Error('does not end with # EOF');
  const families = new Map<string, Family>();
  const seen = new Set<string>();
  let current = { name: '', type: 'unknown', help: '', points: [] as Point[] };
  for (const line of text.slice(0, -'# EOF\n'.length).split('\n').slice(0, -1)) {
    const described = /^# (TYPE|HELP|UNIT) ([a-zA-Z_:][\w:]*) (.*)$/.exec(line);
    if (described !== null) {
      const [, kind, name, words] = described as unknown as [string, string, string, string];
      if (current.name !== name) {
        if (families.has(name)) throw new Error(`the family ${name} comes in two places`);
        current = { name, type: 'unknown', help: '', points: [] };
        families.set(name, current);
      }
      if (current.points.length > 0) throw new Error(`${kind} of ${name} after its points`);
      if (kind === 'TYPE') {
        if (!(words in suffixes)) throw new Error(`type ${words}`);
        if (words === 'counter' && name.endsWith('_total'))
          throw new Error(`the counter ${name} is named _total`);
        current.type = words;
      } else if (kind === 'HELP') current.help = words;
      continue;
    }
    const point = /^([a-zA-Z_:][\w:]*)(?:\{(.*)\})? (\S+)(?: (\S+))?(?: # .*)?$/.exec(line);
    if (point === null) throw new Error(`line ${JSON.stringify(line)}`);
    const [, name, labelText = '', value] = point as unknown as [string, string, string | undefined, string];
    if (!suffixes[current.type]!.some((suffix) => name === `${current.name}${suffix}`))
      throw new Error(`${name} does not belong to the family ${current.name} of type ${current.type}`);
    const key = `${name}{${labelText}}`;
    if (seen.has(key)) throw new Error(`${key} twice`);
    seen.add(key);
    const number = readValue(value);
    if (current.type === 'counter' && !(number >= 0)) throw new Error(`the counter ${name} is ${value}`);
    current.points.push({ name, labels: readLabels(labelText), value: number });
  }
  for (const [name, { type, points }] of families) if (type === 'histogram') checkHistogram(name, points);
  return families;
}

function checkHistogram(name: string, points: readonly Point[]): void {
  const groups = new Map<string, Point[]>();
  for (const point of points) {
    const { le: _, ...labels } = point.labels;
    const key = JSON.stringify(labels);
    groups.set(key, [...(groups.get(key) ?? []), point]);
  }
  for (const group of groups.values()) {
    const bucketPoints = group.filter((point) => point.name === `${name}_bucket`);
    const bounds = bucketPoints.map(({ labels }) => readValue(labels.le!));
    const counts = bucketPoints.map(({ value }) => value);
    if (bounds.at(-1) !== Number.POSITIVE_INFINITY) throw new Error(`${name} has no bucket +Inf`);
    for (let at = 1; at < bounds.length; at++)
      if (!(bounds[at]! > bounds[at - 1]! && counts[at]! >= counts[at - 1]!))
        throw new Error(`${name}: buckets out of order`);
    const count = group.find((point) => point.name === `${name}_count`)?.value;
    if (count !== counts.at(-1)) throw new Error(`${name}: count ${count} is not that of the bucket +Inf`);
  }
}

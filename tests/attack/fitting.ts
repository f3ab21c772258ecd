import fc from 'fast-check';
import type { Role } from '../../api/schemas.ts';
import type { OpenApi, Schema } from './operations.ts';

/** Who acts; the plant under attack has one of each role. */
export const people = {
  tess: 'tech',
  kim: 'engineer',
  sue: 'supervisor',
  quinn: 'quality-manager',
  ada: 'administrator',
} as const satisfies Record<string, Role>;

const characteristics = ['C5', 'C6', 'C3'];
const models = ['Q10', 'Q12'];
const streams = ['C5-R1', 'C6-R1', 'C3-R1'];
const unknown = ['new', 'new-2'];
/** Ids that the plant under attack has, and some that it has not. */
const ids = [...Object.keys(people), 'R1', 'R1-end', ...models, ...characteristics, ...streams, ...unknown];

/** Few, so that what one request stored is found by another. */
const uuids = Array.from({ length: 8 }, (_, index) => `0b9d3a52-6f0e-4c9a-9d55-0f6f4e3f2c1${index}`);
/** In an address it stands for the newest thing of the collection that the server told of. */
export const NEWEST = uuids[0]!;

/** What a field or a collection of an address names. The people who act are left as they are, most of the time. */
const known: Readonly<Record<string, readonly string[]>> = {
  personId: Object.keys(people),
  lineId: ['R1'],
  stationId: ['R1-end'],
  characteristicId: characteristics,
  modelId: models,
  streamId: streams,
  people: unknown,
  lines: ['R1', ...unknown],
  stations: ['R1-end', ...unknown],
  models: [...models, ...unknown],
  characteristics: [...characteristics, ...unknown],
  streams: [...streams, ...unknown],
  plans: streams,
  shifts: unknown,
  recipients: unknown,
  rules: unknown,
  keys: [NEWEST],
  'registered-stations': [NEWEST],
};
/** Collections and fields that name something by its number. */
const numbered = new Set(['alarms', 'alarmId', 'handovers', 'revision']);

const newestTime = Date.parse('2025-09-03T08:00:00Z');
const times = fc.oneof(
  {
    weight: 6,
    arbitrary: fc
      .integer({ min: newestTime - 7 * 86_400_000, max: newestTime })
      .map((time) => new Date(time).toISOString()),
  },
  {
    weight: 1,
    arbitrary: fc.constantFrom(
      '2025-09-03T10:00:00+02:00',
      '1969-12-31T23:59:59Z',
      '9999-12-31T23:59:59.999-14:00',
      '0000-01-01T00:00:00Z',
      '2024-02-29T24:00:00Z',
    ),
  },
);
/** Before all others, so that periods are seldom turned round. */
const before = fc
  .integer({ min: 7, max: 30 })
  .map((days) => new Date(newestTime - days * 86_400_000).toISOString());
const dates = fc.constantFrom(
  '2025-09-03',
  '2025-09-10',
  '2025-12-31',
  '2024-02-29',
  '0000-01-01',
  '9999-12-31',
);
const timesOfDay = ['06:00', '14:30', '24:00', '00:00'];

/** What belongs to a pattern; where it takes times of day, often two that follow each other. */
function matching(pattern: string, name: string): fc.Arbitrary<string> {
  const wanted = new RegExp(pattern, 'u');
  if (!timesOfDay.every((time) => wanted.test(time))) return fc.stringMatching(wanted);
  if (name === 'start') return fc.constantFrom('06:00', '00:00');
  return name === 'end' ? fc.constantFrom('14:30', '24:00') : fc.constantFrom(...timesOfDay);
}

const MAX_DEPTH = 6;

/** Values that fit a schema of the document, with a liking for what the plant knows. */
export function fittingTo(document: OpenApi): (schema: Schema, name?: string) => fc.Arbitrary<unknown> {
  const resolved = ($ref: string): Schema =>
    document.components.schemas[$ref.replace('#/components/schemas/', '')] ?? {};

  const numbers = (schema: Schema, whole: boolean, name: string): fc.Arbitrary<unknown> => {
    const min = Math.max(schema.minimum ?? schema.exclusiveMinimum ?? -1000, -1e12);
    const max = Math.min(schema.maximum ?? schema.exclusiveMaximum ?? Math.max(1000, min), 1e12);
    const low = Math.ceil(Math.max(min, -2e9));
    const integers = fc.integer({ min: low, max: Math.max(low, Math.floor(Math.min(max, 2e9))) });
    const near = fc.integer({ min: low, max: Math.max(low, Math.min(low + 8, max)) });
    // Numbers that the server gives begin with 1.
    if (numbered.has(name))
      return fc.oneof(
        { weight: 6, arbitrary: fc.integer({ min: 1, max: 2 }) },
        { weight: 1, arbitrary: integers },
      );
    if (whole) return fc.oneof(integers, near);
    const measured = fc.integer({ min: 12_600, max: 12_800 }).map((value) => value / 100);
    return fc.oneof(
      measured,
      integers,
      fc.double({ min: Math.min(min, max), max, noNaN: true }),
      fc.constantFrom(min, max, 0.5, 0.0027, 5e-324, -0),
    );
  };

  const texts = (
    { format, pattern, minLength = 0, maxLength = 40 }: Schema,
    name: string,
  ): fc.Arbitrary<unknown> => {
    if (format === 'uuid')
      return fc.oneof(
        { weight: 2, arbitrary: fc.constantFrom(...uuids) },
        { weight: 1, arbitrary: fc.constant(NEWEST) },
        { weight: 1, arbitrary: fc.uuid({ version: 4 }) },
      );
    if (format === 'date-time')
      return name === 'from'
        ? fc.oneof({ weight: 6, arbitrary: before }, { weight: 1, arbitrary: times })
        : times;
    if (format === 'date') return dates;
    if (name === 'If-Match') return fc.constantFrom('*', '*', '*', 'W/x');
    if (name === 'Idempotency-Key') return fc.uuid({ version: 4 });
    if (pattern?.includes('A-Za-z0-9]'))
      return fc.oneof(
        { weight: 6, arbitrary: fc.constantFrom(...(known[name] ?? ids)) },
        { weight: 1, arbitrary: fc.constantFrom(...ids) },
      );
    if (pattern !== undefined) return matching(pattern, name);
    return fc.string({
      unit: 'grapheme',
      minLength,
      maxLength: Math.max(minLength, Math.min(maxLength, 40)),
    });
  };

  const drawn = new Map<string, Map<Schema, fc.Arbitrary<unknown>>>();
  const fitting = (schema: Schema, name: string, depth = 0): fc.Arbitrary<unknown> => {
    const ofName = drawn.get(name) ?? new Map<Schema, fc.Arbitrary<unknown>>();
    drawn.set(name, ofName);
    const before = ofName.get(schema);
    if (before !== undefined) return before;
    const arbitrary = draw(schema, name, depth);
    ofName.set(schema, arbitrary);
    return arbitrary;
  };

  const draw = (schema: Schema, name: string, depth: number): fc.Arbitrary<unknown> => {
    if (depth > MAX_DEPTH) return fc.constant(null);
    const inside = (inner: Schema, as = name): fc.Arbitrary<unknown> => fitting(inner, as, depth + 1);
    if (schema.$ref !== undefined) return inside(resolved(schema.$ref));
    if (schema.const !== undefined) return fc.constant(schema.const);
    if (schema.enum !== undefined)
      return fc.constantFrom(...schema.enum, ...(name === 'unit' ? ['mm', 'mm', 'mm', 'mm', '1', '1'] : []));
    const choices = schema.anyOf ?? schema.oneOf;
    if (choices !== undefined) return fc.oneof(...choices.map((choice) => inside(choice)));
    if (schema.allOf !== undefined) {
      const parts = schema.allOf.map((part) => (part.$ref === undefined ? part : resolved(part.$ref)));
      return inside(Object.assign({}, ...parts) as Schema);
    }
    const kinds = typeof schema.type === 'string' ? [schema.type] : (schema.type ?? []);
    if (kinds.length > 1) return fc.oneof(...kinds.map((type) => inside({ ...schema, type })));
    switch (kinds[0]) {
      case 'null':
        return fc.constant(null);
      case 'boolean':
        return fc.boolean();
      case 'integer':
      case 'number':
        return numbers(schema, kinds[0] === 'integer', name);
      case 'string':
        return texts(schema, name);
      case 'array': {
        if (schema.prefixItems !== undefined)
          return fc.tuple(...schema.prefixItems.map((item) => inside(item)));
        const minLength = schema.minItems ?? 0;
        const maxLength = Math.min(schema.maxItems ?? 12, Math.max(12, minLength));
        return fc.array(inside(schema.items || {}), { minLength, maxLength });
      }
      case 'object': {
        const names = Object.entries(schema.properties ?? {});
        if (names.length === 0 && typeof schema.additionalProperties === 'object')
          return fc.dictionary(fc.constantFrom(...ids), inside(schema.additionalProperties), { maxKeys: 4 });
        const properties = Object.fromEntries(
          names.map(([property, inner]) => [property, inside(inner, property)]),
        );
        return fc.record(properties, { requiredKeys: [...(schema.required ?? [])], noNullPrototype: true });
      }
      default:
        return fc.jsonValue({ maxDepth: 2 });
    }
  };
  return (schema, name = '') => fitting(schema, name);
}

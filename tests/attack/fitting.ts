import fc from 'fast-check';
import type { OpenApi, Schema } from './operations.ts';

/** Ids that the plant under attack has, and some that it has not. */
const ids = [
  'kim',
  'R1',
  'R1-end',
  'Q10',
  'Q12',
  'C5',
  'C6',
  'C3',
  'C5-R1',
  'C6-R1',
  'C3-R1',
  'new',
  'new-2',
];
/** Few, so that what one request stored is found by another. */
const uuids = Array.from({ length: 8 }, (_, index) => `0b9d3a52-6f0e-4c9a-9d55-0f6f4e3f2c1${index}`);
/** Stands for the import that was begun last. */
export const NEWEST_IMPORT = uuids[0]!;

const newestTime = Date.parse('2025-09-03T08:00:00Z');
const times = fc.oneof(
  fc
    .integer({ min: newestTime - 7 * 86_400_000, max: newestTime })
    .map((time) => new Date(time).toISOString()),
  fc.constantFrom(
    '2025-09-03T10:00:00+02:00',
    '1969-12-31T23:59:59Z',
    '9999-12-31T23:59:59.999-14:00',
    '0000-01-01T00:00:00Z',
    '2024-02-29T24:00:00Z',
  ),
);

const MAX_DEPTH = 6;

/** Values that fit a schema of the document, with a liking for what the plant knows. */
export function fittingTo(document: OpenApi): (schema: Schema) => fc.Arbitrary<unknown> {
  const resolved = ($ref: string): Schema =>
    document.components.schemas[$ref.replace('#/components/schemas/', '')] ?? {};

  const numbers = (schema: Schema, whole: boolean): fc.Arbitrary<unknown> => {
    const min = Math.max(schema.minimum ?? schema.exclusiveMinimum ?? -1000, -1e12);
    const max = Math.min(schema.maximum ?? schema.exclusiveMaximum ?? Math.max(1000, min), 1e12);
    const low = Math.ceil(Math.max(min, -2e9));
    const integers = fc.integer({ min: low, max: Math.max(low, Math.floor(Math.min(max, 2e9))) });
    const near = fc.integer({ min: low, max: Math.max(low, Math.min(low + 8, max)) });
    if (whole) return fc.oneof(integers, near);
    const measured = fc.integer({ min: 12_600, max: 12_800 }).map((value) => value / 100);
    return fc.oneof(
      measured,
      integers,
      fc.double({ min: Math.min(min, max), max, noNaN: true }),
      fc.constantFrom(min, max, 0.5, 0.0027, 5e-324, -0),
    );
  };

  const texts = ({ format, pattern, minLength = 0, maxLength = 40 }: Schema): fc.Arbitrary<unknown> => {
    if (format === 'uuid') return fc.oneof(fc.constantFrom(...uuids), fc.uuid({ version: 4 }));
    if (format === 'date-time') return times;
    if (pattern?.includes('A-Za-z0-9')) return fc.constantFrom(...ids);
    if (pattern !== undefined) return fc.constantFrom('06:00', '14:30', '24:00', '00:00', '1234', '123456');
    return fc.string({
      unit: 'grapheme',
      minLength,
      maxLength: Math.max(minLength, Math.min(maxLength, 40)),
    });
  };

  const known = new Map<Schema, fc.Arbitrary<unknown>>();
  const fitting = (schema: Schema, depth = 0): fc.Arbitrary<unknown> => {
    const before = known.get(schema);
    if (before !== undefined) return before;
    const drawn = draw(schema, depth);
    known.set(schema, drawn);
    return drawn;
  };

  const draw = (schema: Schema, depth: number): fc.Arbitrary<unknown> => {
    if (depth > MAX_DEPTH) return fc.constant(null);
    const inside = (inner: Schema): fc.Arbitrary<unknown> => fitting(inner, depth + 1);
    if (schema.$ref !== undefined) return inside(resolved(schema.$ref));
    if (schema.const !== undefined) return fc.constant(schema.const);
    if (schema.enum !== undefined) return fc.constantFrom(...schema.enum);
    const choices = schema.anyOf ?? schema.oneOf;
    if (choices !== undefined) return fc.oneof(...choices.map(inside));
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
        return numbers(schema, kinds[0] === 'integer');
      case 'string':
        return texts(schema);
      case 'array': {
        if (schema.prefixItems !== undefined) return fc.tuple(...schema.prefixItems.map(inside));
        const minLength = schema.minItems ?? 0;
        const maxLength = Math.min(schema.maxItems ?? 12, Math.max(12, minLength));
        return fc.array(inside(schema.items || {}), { minLength, maxLength });
      }
      case 'object': {
        const names = Object.entries(schema.properties ?? {});
        if (names.length === 0 && typeof schema.additionalProperties === 'object')
          return fc.dictionary(fc.constantFrom(...ids), inside(schema.additionalProperties), { maxKeys: 4 });
        const properties = Object.fromEntries(names.map(([name, inner]) => [name, inside(inner)]));
        return fc.record(properties, { requiredKeys: [...(schema.required ?? [])], noNullPrototype: true });
      }
      default:
        return fc.jsonValue({ maxDepth: 2 });
    }
  };
  return (schema) => fitting(schema);
}

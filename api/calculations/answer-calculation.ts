import { z } from '@hono/zod-openapi';
import { parseJson } from '../http/parse-json.ts';
import { validate } from '../http/validate.ts';
import type { CoreDescription, FunctionDescription, JsonSchema } from './description.ts';

/** As many as fit into the largest body. */
const MAX_ENTRIES = 600_000;

type Call = (...given: readonly unknown[]) => unknown;

/**
 * Answers calls of the public functions of src/: takes the name and the JSON text of the arguments, returns the JSON
 * text of the result. Throws ProblemError for what is not JSON or not of the described form, StatisticsError for what
 * the function itself refuses.
 */
export function calculationAnswerer(
  { functions, definitions }: CoreDescription,
  core: Readonly<Record<string, unknown>>,
): (name: string, body: string) => string {
  const described = new Map(functions.map((one) => [one.name, one]));
  const schemas = new Map<string, z.ZodType>();
  const schemaOf = ({ name, schemas: drawn }: FunctionDescription): z.ZodType => {
    const known = schemas.get(name);
    if (known !== undefined) return known;
    const schema = z.fromJSONSchema({
      ...drawn!.arguments,
      $defs: definitions,
    } as z.core.JSONSchema.JSONSchema);
    schemas.set(name, schema);
    return schema;
  };
  return (name, body) => {
    const one = described.get(name)!;
    const sent = passOn(parseJson(body, MAX_ENTRIES), one.schemas!.arguments, definitions);
    const given = validate(schemaOf(one), sent, 'body') as Record<string, unknown>;
    const result = (core[name] as Call)(...one.parameters.map((parameter) => given[parameter.name]));
    return JSON.stringify(result);
  };
}

/**
 * What one calculation gave may go into another as it is: of an argument that says `available: true` only the fields
 * that are asked for are looked at, as TypeScript would. Anywhere else an unknown field is a slip and is refused.
 */
function passOn(
  sent: unknown,
  { properties = {} }: JsonSchema,
  definitions: CoreDescription['definitions'],
): unknown {
  if (typeof sent !== 'object' || sent === null || Array.isArray(sent)) return sent;
  const entries = Object.entries(sent).map(([name, value]) => {
    const { $ref = '' } = properties[name] ?? {};
    const known = definitions[$ref.replace('#/$defs/', '')]?.properties;
    if (known === undefined || value?.available !== true) return [name, value];
    return [name, Object.fromEntries(Object.entries(value).filter(([field]) => field in known))];
  });
  return Object.fromEntries(entries);
}

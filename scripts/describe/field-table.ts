import { html } from 'hono/html';
import type { CoreDescription, JsonSchema } from '../../api/calculations/description.ts';

type Html = ReturnType<typeof html>;
type Definitions = CoreDescription['definitions'];

const nameOf = (ref: string): string => ref.replace('#/$defs/', '');

/** A type in a few words; a named one by its name. */
function typeWords(schema: JsonSchema, definitions: Definitions): string {
  if (schema.$ref !== undefined) {
    const meant = definitions[nameOf(schema.$ref)];
    return meant === undefined || meant.properties !== undefined
      ? nameOf(schema.$ref)
      : typeWords(meant, definitions);
  }
  if (schema.const !== undefined) return JSON.stringify(schema.const);
  if (schema.enum !== undefined) return schema.enum.map((one) => JSON.stringify(one)).join(', ');
  if (schema.anyOf !== undefined) return schema.anyOf.map((one) => typeWords(one, definitions)).join(' or ');
  if (schema.items) return `list of ${typeWords(schema.items, definitions)}`;
  if (schema.prefixItems !== undefined)
    return `list of ${schema.prefixItems.map((one) => typeWords(one, definitions)).join(', ')}`;
  if (schema.properties !== undefined) return `object with ${Object.keys(schema.properties).join(', ')}`;
  return schema.type === 'string' ? 'text' : schema.type === 'array' ? 'list' : (schema.type ?? 'anything');
}

/** The default that a description states, up to the end of its sentence. */
const statedDefault = (description = ''): string | undefined =>
  /\bDefault:? (.+?)(?=[.;:](?:\s|$)|$)/.exec(description)?.[1];

/** The object that a parameter is, or a list of, with its fields; null for anything else. */
function objectOf(schema: JsonSchema, definitions: Definitions): JsonSchema | null {
  if (schema.$ref !== undefined) {
    const meant = definitions[nameOf(schema.$ref)];
    return meant === undefined ? null : objectOf(meant, definitions);
  }
  if (schema.items) return objectOf(schema.items, definitions);
  return Object.keys(schema.properties ?? {}).length > 0 ? schema : null;
}

/** What the definition of a parameter's type says of it. */
export const meaningOf = (schema: JsonSchema | undefined, definitions: Definitions): string =>
  schema?.description ??
  (schema?.$ref === undefined ? '' : (definitions[nameOf(schema.$ref)]?.description ?? ''));

/** The fields of an object that is given: name, type, meaning with its unit, and whether it has to be there. */
export function fieldTable(
  parameter: string,
  calculation: string,
  schema: JsonSchema | undefined,
  definitions: Definitions,
  words: (text: string) => Html,
): Html | null {
  const object = schema && objectOf(schema, definitions);
  if (!object) return null;
  const rows = Object.entries(object.properties ?? {}).map(([name, field]) => {
    const meaning = meaningOf(field, definitions);
    const fallback = statedDefault(meaning);
    const presence = object.required?.includes(name)
      ? 'required'
      : fallback === undefined
        ? 'optional'
        : `default ${fallback}`;
    return html`<tr>
      <th scope="row"><code>${name}</code></th>
      <td><code>${typeWords(field, definitions)}</code></td>
      <td>${words(meaning)}</td>
      <td>${words(presence)}</td>
    </tr>`;
  });
  return html`<div class="scroll" tabindex="0" role="region" aria-label="Fields of ${parameter} of ${calculation}"><table class="fields">
    <caption>Fields of ${parameter}</caption>
    <thead><tr><th scope="col">Field</th><th scope="col">Type</th><th scope="col">Meaning</th><th scope="col">Presence</th></tr></thead>
    <tbody>${rows}</tbody>
  </table></div>`;
}

import { createHash } from 'node:crypto';
import { html, raw } from 'hono/html';
import type { openApiDocument } from './openapi.ts';

type Document = ReturnType<typeof openApiDocument>;

/** The parts of JSON Schema 2020-12 that the document uses. */
interface Schema {
  readonly $ref?: string;
  readonly type?: string | readonly string[];
  readonly description?: string;
  readonly format?: string;
  readonly pattern?: string;
  readonly const?: unknown;
  readonly enum?: readonly unknown[];
  readonly items?: Schema;
  readonly properties?: Readonly<Record<string, Schema>>;
  readonly required?: readonly string[];
  readonly oneOf?: readonly Schema[];
  readonly anyOf?: readonly Schema[];
  readonly allOf?: readonly Schema[];
  readonly minimum?: number;
  readonly maximum?: number;
  readonly exclusiveMinimum?: number;
  readonly minLength?: number;
  readonly maxLength?: number;
  readonly minItems?: number;
  readonly maxItems?: number;
}

interface Content {
  readonly content?: Readonly<Record<string, { readonly schema?: Schema }>>;
  readonly description?: string;
}

interface Operation {
  readonly operationId: string;
  readonly summary: string;
  readonly description?: string;
  readonly tags: readonly string[];
  readonly parameters?: readonly {
    readonly name: string;
    readonly in: string;
    readonly required?: boolean;
    readonly description?: string;
    readonly schema: Schema;
  }[];
  readonly requestBody?: Content;
  readonly responses: Readonly<Record<string, Content>>;
}

const style = `
:root { color-scheme: light dark; font: 1rem/1.5 system-ui, sans-serif; }
body { max-width: 60rem; margin: 0 auto; padding: 1rem; }
code { font: 0.95em ui-monospace, monospace; overflow-wrap: anywhere; }
h2 { margin-top: 3rem; border-bottom: 2px solid; }
h3 { margin-top: 2rem; }
table { border-collapse: collapse; width: 100%; margin: 0.5rem 0; }
caption { text-align: left; font-weight: 600; }
th, td { text-align: left; vertical-align: top; border-bottom: 1px solid; padding: 0.25rem 0.75rem 0.25rem 0; }
/* A narrow window breaks long names rather than scroll sideways. */
th, td, li { overflow-wrap: anywhere; }
@media (max-width: 30rem) { th, td { padding-right: 0.25rem; } }
th { font-weight: 600; }
.masthead { display: flex; flex-wrap: wrap; align-items: center; gap: 0.25rem 1.5rem; border-bottom: 2px solid; }
.masthead a { display: inline-flex; align-items: center; gap: 0.5rem; min-height: 3rem; }
.masthead nav { display: flex; flex-wrap: wrap; gap: 0 1rem; }
.masthead [aria-current] { font-weight: 600; }
a:focus-visible { outline: 3px solid; outline-offset: 2px; }
`;

/** Lets this page carry its own style under a policy that allows nothing inline otherwise. */
export const docsStyleHash = `'sha256-${createHash('sha256').update(style).digest('base64')}'`;

const nameOf = (ref: string): string => ref.slice(ref.lastIndexOf('/') + 1);

type Html = ReturnType<typeof html>;
const join = (parts: readonly Html[], between: string) =>
  parts.map((part, index) => (index === 0 ? part : html`${between}${part}`));

const many = (count: number, one: string, more: string): string => `${count} ${count === 1 ? one : more}`;

function rules(schema: Schema): string {
  const list: string[] = [];
  if (schema.minimum !== undefined) list.push(`at least ${schema.minimum}`);
  if (typeof schema.exclusiveMinimum === 'number') list.push(`greater than ${schema.exclusiveMinimum}`);
  if (schema.maximum !== undefined) list.push(`at most ${schema.maximum}`);
  if (schema.minLength !== undefined)
    list.push(`at least ${many(schema.minLength, 'character', 'characters')}`);
  if (schema.maxLength !== undefined)
    list.push(`at most ${many(schema.maxLength, 'character', 'characters')}`);
  if (schema.minItems !== undefined) list.push(`at least ${many(schema.minItems, 'entry', 'entries')}`);
  if (schema.maxItems !== undefined) list.push(`at most ${many(schema.maxItems, 'entry', 'entries')}`);
  return list.length === 0 ? '' : ` (${list.join(', ')})`;
}

/** A schema in one line; objects without a name of their own list their fields. */
function typeOf(schema: Schema): Html {
  if (schema.$ref !== undefined) {
    const name = nameOf(schema.$ref);
    return html`<a href="#schema-${name}">${name}</a>`;
  }
  if (schema.const !== undefined) return html`<code>${JSON.stringify(schema.const)}</code>`;
  if (schema.enum !== undefined) {
    return html`one of ${join(
      schema.enum.map((value) => html`<code>${JSON.stringify(value)}</code>`),
      ', ',
    )}`;
  }
  const choices = schema.oneOf ?? schema.anyOf;
  if (choices !== undefined) return html`${join(choices.map(typeOf), ' or ')}`;
  if (schema.allOf !== undefined) return html`${join(schema.allOf.map(typeOf), ' and ')}`;
  if (schema.items !== undefined) return html`list of ${typeOf(schema.items)}${rules(schema)}`;
  if (schema.properties !== undefined) {
    const fields = Object.entries(schema.properties).map(
      ([name, field]) =>
        html`<li><code>${name}</code>${schema.required?.includes(name) ? '' : ' (optional)'}: ${typeOf(field)}</li>`,
    );
    return html`object<ul>${fields}</ul>`;
  }
  const types = Array.isArray(schema.type) ? schema.type.join(' or ') : (schema.type ?? 'anything');
  const form = schema.format === undefined ? '' : `, ${schema.format}`;
  return html`${types}${form}${rules(schema)}${schema.pattern === undefined ? '' : html`, written as <code>${schema.pattern}</code>`}`;
}

function fieldTable(caption: string, schema: Schema): Html {
  if (schema.properties === undefined) return html`<p>${typeOf(schema)}</p>`;
  const rows = Object.entries(schema.properties).map(
    ([name, field]) => html`<tr>
      <th scope="row"><code>${name}</code></th>
      <td>${typeOf(field)}</td>
      <td>${schema.required?.includes(name) ? 'always' : 'optional'}</td>
    </tr>`,
  );
  return html`<table>
    <caption>${caption}</caption>
    <thead><tr><th scope="col">Field</th><th scope="col">What it holds</th><th scope="col">Presence</th></tr></thead>
    <tbody>${rows}</tbody>
  </table>`;
}

function contentOf(content: Content | undefined): Html {
  const parts = Object.entries(content?.content ?? {}).map(
    ([type, { schema }]) => html`<code>${type}</code>: ${schema === undefined ? '' : typeOf(schema)}`,
  );
  return html`${join(parts, ' or ')}`;
}

function operation(method: string, path: string, described: Operation): Html {
  const parameters = described.parameters ?? [];
  const rows = parameters.map(
    (parameter) => html`<tr>
      <th scope="row"><code>${parameter.name}</code></th>
      <td>${parameter.in}</td>
      <td>${typeOf(parameter.schema)}${parameter.description === undefined ? '' : html`. ${parameter.description}`}</td>
      <td>${parameter.required === true ? 'always' : 'optional'}</td>
    </tr>`,
  );
  const answers = Object.entries(described.responses).map(
    ([status, answer]) => html`<li><code>${status}</code> ${answer.description}: ${contentOf(answer)}</li>`,
  );
  return html`<section aria-labelledby="${described.operationId}">
    <h3 id="${described.operationId}">${described.summary}</h3>
    <p><code>${method.toUpperCase()} ${path}</code></p>
    ${described.description === undefined ? '' : html`<p>${described.description}</p>`}
    ${
      rows.length === 0
        ? ''
        : html`<table>
      <caption>Parameters</caption>
      <thead><tr><th scope="col">Name</th><th scope="col">Where</th><th scope="col">What it holds</th><th scope="col">Presence</th></tr></thead>
      <tbody>${rows}</tbody>
    </table>`
    }
    ${described.requestBody === undefined ? '' : html`<div>Body, ${contentOf(described.requestBody)}</div>`}
    <p>Answers:</p>
    <ul>${answers}</ul>
  </section>`;
}

/** The API's description for people: the OpenAPI document as one plain page that needs no script. */
export function docsPage(document: Document): string {
  const operations = Object.entries(document.paths ?? {}).flatMap(([path, item]) =>
    Object.entries(item as Record<string, Operation>).map(([method, described]) => ({
      method,
      path,
      described,
    })),
  );
  const tags = document.tags ?? [];
  const sections = tags.map((tag) => {
    const ofTag = operations.filter(({ described }) => described.tags.includes(tag.name));
    return html`<h2 id="tag-${tag.name}">${tag.description}</h2>
      ${ofTag.map(({ method, path, described }) => operation(method, path, described))}`;
  });
  const schemas = Object.entries((document.components?.schemas ?? {}) as Record<string, Schema>).map(
    ([name, schema]) => html`<section aria-labelledby="schema-${name}">
      <h3 id="schema-${name}">${name}</h3>
      ${fieldTable(`Fields of ${name}`, schema)}
    </section>`,
  );
  const page = html`<!doctype html>
<html lang="en">
  <head>
    <meta charset="utf-8">
    <meta name="viewport" content="width=device-width, initial-scale=1">
    <link rel="icon" href="/mark.svg" type="image/svg+xml">
    <title>Runtrue: the API</title>
    <style>${raw(style)}</style>
  </head>
  <body>
    <header class="masthead">
      <a href="/"><img src="/mark.svg" alt="" width="32" height="32"> Runtrue</a>
      <nav aria-label="Descriptions">
        <a href="/reference">Calculations</a>
        <a href="/api/docs" aria-current="page">API</a>
      </nav>
    </header>
    <main>
      <h1>Runtrue: the API</h1>
      <p>${document.info.description}</p>
      <p>The calculations of the statistics core have <a href="/reference">a page of their own</a>, where each can be tried.</p>
      <p>The same as a document for programs: <a href="/api/openapi.json">OpenAPI 3.1</a>. Version ${document.info.version}.</p>
    <nav aria-label="Contents">
      <ul>
        ${tags.map((tag) => html`<li><a href="#tag-${tag.name}">${tag.description}</a></li>`)}
        <li><a href="#schemas">What the fields hold</a></li>
      </ul>
    </nav>
      ${sections}
      <h2 id="schemas">What the fields hold</h2>
      ${schemas}
    </main>
  </body>
</html>`;
  return String(page);
}

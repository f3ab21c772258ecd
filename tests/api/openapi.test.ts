import { describe, expect, it } from 'vitest';
import { contract } from '../../api/contract.ts';
import { docsPage } from '../../api/http/docs-page.ts';
import { openApiDocument } from '../../api/http/openapi.ts';

interface Parameter {
  readonly name: string;
  readonly in: string;
  readonly required?: boolean;
}
interface Operation {
  readonly operationId: string;
  readonly summary: string;
  readonly tags: readonly string[];
  readonly parameters?: readonly Parameter[];
  readonly responses: Readonly<Record<string, { readonly content: unknown }>>;
}
interface Document {
  readonly openapi: string;
  readonly info: unknown;
  readonly tags: readonly { readonly name: string }[];
  readonly paths: Readonly<Record<string, Readonly<Record<string, Operation>>>>;
  readonly components: { readonly schemas: Readonly<Record<string, { readonly required?: string[] }>> };
}
const document: Document = JSON.parse(JSON.stringify(openApiDocument('1.2.3')));
const doors = [
  'POST /api/imports',
  'GET /api/export.csv',
  'GET /api/alarm-report.csv',
  'GET /api/backup',
  'GET /api/stream',
];

const operations = Object.entries(document.paths).flatMap(([path, item]) =>
  Object.entries(item).map(([method, operation]) => ({
    key: `${method.toUpperCase()} ${path}`,
    path,
    operation,
  })),
);

function* references(value: unknown): Generator<string> {
  if (typeof value !== 'object' || value === null) return;
  for (const [name, inner] of Object.entries(value)) {
    if (name === '$ref' && typeof inner === 'string') yield inner;
    else yield* references(inner);
  }
}

describe('the OpenAPI document', () => {
  it('names its version and licence', () => {
    expect(document.openapi).toBe('3.1.0');
    expect(document.info).toMatchObject({ title: 'Runtrue', version: '1.2.3', license: { name: 'MIT' } });
  });

  it('describes every endpoint of the contract, the doors by hand, and nothing else', () => {
    const described = operations.map(({ key }) => key).sort();
    expect(described).toEqual([...Object.keys(contract), ...doors].sort());
  });

  it('gives each operation its own id, a summary, a declared tag and every parameter of its path', () => {
    const ids = operations.map(({ operation }) => operation.operationId);
    expect(new Set(ids).size).toBe(ids.length);
    const tags = document.tags.map((tag) => tag.name);
    for (const { path, operation } of operations) {
      expect(operation.operationId).toMatch(/^[a-z][A-Za-z0-9]+$/);
      expect(operation.summary.length).toBeGreaterThan(5);
      for (const tag of operation.tags) expect(tags).toContain(tag);
      const inPath = (operation.parameters ?? []).filter((parameter) => parameter.in === 'path');
      const names = [...path.matchAll(/\{(\w+)\}/g)].map(([, name]) => name);
      expect(inPath.map((parameter) => parameter.name).sort()).toEqual(names.sort());
      for (const parameter of inPath) expect(parameter.required).toBe(true);
    }
  });

  it('answers every refusal as a problem document', () => {
    for (const { operation } of operations) {
      const refusals = Object.entries(operation.responses).filter(([status]) => status >= '400');
      expect(refusals.length).toBeGreaterThan(0);
      for (const [, response] of refusals) {
        expect(response.content).toEqual({
          'application/problem+json': { schema: { $ref: '#/components/schemas/Problem' } },
        });
      }
    }
  });

  it('asks who acts wherever the contract does', () => {
    for (const [key, endpoint] of Object.entries(contract)) {
      const { operation } = operations.find((candidate) => candidate.key === key)!;
      const header = (operation.parameters ?? []).find((parameter) => parameter.name === 'Runtrue-Person');
      if ('signed' in endpoint) {
        expect(header).toMatchObject({ in: 'header', required: false });
        expect(operation.responses['401']).toBeDefined();
      } else if (key === 'PUT /api/people/{id}') expect(header).toMatchObject({ required: false });
      else expect(header).toBeUndefined();
    }
  });

  it('refers only to what it defines', () => {
    const defined = Object.keys(document.components.schemas).map((name) => `#/components/schemas/${name}`);
    const used = new Set(references(document));
    for (const reference of used) expect(defined).toContain(reference);
    expect(document.components.schemas.Problem?.required?.sort()).toEqual([
      'detail',
      'errors',
      'status',
      'title',
      'type',
    ]);
  });

  it('uses only the words of JSON Schema 2020-12, not the older nullable', () => {
    expect(JSON.stringify(document)).not.toContain('"nullable"');
  });

  it('says of what may be null that it is one or the other, never both at once', () => {
    const text = JSON.stringify(document.components.schemas);
    expect(text).not.toMatch(/"allOf":\[[^\]]*"null"/);
    expect(text).toContain(
      '"count":{"anyOf":[{"$ref":"#/components/schemas/CountedParts"},{"type":"null"}]}',
    );
  });
});

describe('the page of the description', () => {
  const page = docsPage(openApiDocument('1.2.3'));

  it('shows every operation and schema under a heading, without script', () => {
    for (const { operation } of operations) {
      expect(page).toContain(`<h3 id="${operation.operationId}">`);
    }
    for (const name of Object.keys(document.components.schemas))
      expect(page).toContain(`<h3 id="schema-${name}">`);
    expect(page).not.toContain('<script');
    expect(page.match(/<h1>/g)).toHaveLength(1);
    expect(page).not.toContain('[object');
    expect(page).not.toContain('undefined');
  });

  it('links only to places that are there', () => {
    const ids = new Set([...page.matchAll(/ id="([^"]+)"/g)].map(([, id]) => id));
    for (const [, target] of page.matchAll(/href="#([^"]+)"/g)) expect(ids).toContain(target);
  });
});

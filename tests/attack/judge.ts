import { Ajv2020, type ValidateFunction } from 'ajv/dist/2020.js';
import addFormats from 'ajv-formats';
import type { OpenApi, Operation, Schema } from './operations.ts';

/** An answer as it arrived. */
export interface Arrived {
  readonly status: number;
  readonly contentType: string | null;
  readonly text: string;
}

const PROBLEM = 'application/problem+json';
const problemSchema: Schema = { $ref: '#/components/schemas/Problem' };
/** Refusals in which no single field is at fault. */
const withoutField = new Set([409, 412, 428, 429, 503]);

/** Holds answers against the document by an independent validator of JSON Schema 2020-12. */
export function judgeBy(
  document: OpenApi,
): (operation: Operation, method: string, arrived: Arrived) => readonly string[] {
  const ajv = new Ajv2020({ strict: false, allErrors: false, validateFormats: true });
  addFormats.default(ajv);
  ajv.addSchema({ $id: 'openapi', components: document.components });
  const compiled = new Map<Schema, ValidateFunction>();
  const validator = (schema: Schema): ValidateFunction => {
    const known = compiled.get(schema);
    if (known !== undefined) return known;
    const absolute = JSON.parse(
      JSON.stringify(schema, (name, value) =>
        name === '$ref' && typeof value === 'string' ? `openapi${value}` : value,
      ),
    );
    const made = ajv.compile(absolute);
    compiled.set(schema, made);
    return made;
  };
  const against = (schema: Schema, text: string): string[] => {
    let value: unknown;
    try {
      value = JSON.parse(text);
    } catch {
      return ['an answer that is not JSON'];
    }
    const check = validator(schema);
    if (check(value)) return [];
    return [`an answer outside its schema: ${ajv.errorsText(check.errors).slice(0, 300)}`];
  };

  const refused = ({ status, contentType, text }: Arrived, method: string): string[] => {
    if (contentType !== PROBLEM) return [`a refusal of type ${contentType}`];
    if (method === 'HEAD') return [];
    const complaints = against(problemSchema, text);
    if (complaints.length > 0) return complaints;
    const problem = JSON.parse(text) as {
      status: number;
      detail: string;
      errors: { field: string; message: string }[];
    };
    if (problem.status !== status) complaints.push('a problem with another status than its answer');
    if (/\bat .*\.(?:ts|js|mjs):\d+/.test(text)) complaints.push('a stack trace');
    if (text.length > 30_000) complaints.push('a refusal longer than 30,000 characters');
    if (problem.errors.length === 0 && !withoutField.has(status)) complaints.push('no field is named');
    if (problem.errors.some(({ field, message }) => field === '' || message.length < 4))
      complaints.push('a field without its name or without words');
    return complaints;
  };

  return (operation, method, arrived) => {
    const { status, contentType, text } = arrived;
    if (status >= 500 && status !== 503) return [`status ${status}`];
    const described = operation.responses[String(status)];
    const rightMethod = method === operation.method;
    if (status >= 400) {
      const complaints = refused(arrived, method);
      if (rightMethod && described === undefined && ![404, 405, 429].includes(status))
        complaints.push(`status ${status}, which the document does not name`);
      return complaints;
    }
    if (status === 304 || method === 'HEAD') return text === '' ? [] : ['a body where none may be'];
    if (!rightMethod || status >= 300) return [];
    const content = described?.content ?? {};
    const type = (contentType ?? '').split(';')[0]!;
    const schema = content[type]?.schema;
    if (described === undefined) return [`status ${status}, which the document does not name`];
    if (schema === undefined && Object.keys(content).length > 0) return [`an answer of type ${contentType}`];
    return schema !== undefined && type === 'application/json' ? against(schema, text) : [];
  };
}

import { type openApiDocument, refusals } from '../http/openapi.ts';
import { PROBLEM_TYPE } from '../http/refusals.ts';
import type { CoreDescription, FunctionDescription } from './description.ts';

type Document = ReturnType<typeof openApiDocument>;

/** Names of the core stand apart from the payloads of the plant, where some are called alike. */
const placed = (name: string): string => `core.${name}`;

/** A copy in which references point to the components of the document. */
const relocated = (schema: unknown): object =>
  JSON.parse(
    JSON.stringify(schema, (key, value) =>
      key === '$ref' ? value.replace('#/$defs/', `#/components/schemas/${placed('')}`) : value,
    ),
  );

const problem = { [PROBLEM_TYPE]: { schema: { $ref: '#/components/schemas/Problem' } } };
const refused = Object.fromEntries(
  [400, 401, 403, 413, 415, 422, 500, 503].map((status) => [
    status,
    { description: refusals[status]!, content: problem },
  ]),
);

function operation({
  name,
  summary,
  paragraphs,
  parameters,
  returns,
  throws,
  source,
  example,
  schemas,
}: FunctionDescription) {
  const described = [
    ...paragraphs,
    ...parameters.filter(({ text }) => text !== '').map((one) => `${one.name}: ${one.text}`),
    ...(returns.text === '' ? [] : [`Returns: ${returns.text}`]),
    `Refuses with: ${throws}`,
    `Source: ${source}`,
  ];
  return {
    operationId: `calculate${name.replace(/^./, (letter) => letter.toUpperCase())}`,
    summary,
    description: described.join('\n\n'),
    tags: ['calculations'],
    externalDocs: { description: 'The same with an example to try', url: `/reference#${name}` },
    requestBody: {
      required: true,
      content: {
        'application/json': { schema: relocated(schemas!.arguments), example: example.arguments },
      },
    },
    responses: {
      200: {
        description: 'The result as the function returns it',
        content: { 'application/json': { schema: relocated(schemas!.result), example: example.result } },
      },
      ...refused,
    },
  };
}

/** The OpenAPI document with an operation for each calculation that can be called. */
export function withCalculations(document: Document, { functions, definitions }: CoreDescription): Document {
  const callable = functions.filter(({ schemas }) => schemas !== null);
  const paths = Object.fromEntries(
    callable.map((one) => [`/api/calculations/${one.name}`, { post: operation(one) }]),
  );
  const schemas = Object.fromEntries(
    Object.entries(definitions).map(([name, schema]) => [placed(name), relocated(schema)]),
  );
  return {
    ...document,
    paths: { ...document.paths, ...paths },
    components: { ...document.components, schemas: { ...document.components?.schemas, ...schemas } },
  } as Document;
}

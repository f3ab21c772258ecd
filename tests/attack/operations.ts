/** The operations of an OpenAPI document, as an attacker reads them. */

/** The words of JSON Schema that the document uses. */
export interface Schema {
  readonly $ref?: string;
  readonly type?: string | readonly string[];
  readonly format?: string;
  readonly pattern?: string;
  readonly const?: unknown;
  readonly enum?: readonly unknown[];
  readonly minimum?: number;
  readonly maximum?: number;
  readonly exclusiveMinimum?: number;
  readonly exclusiveMaximum?: number;
  readonly minLength?: number;
  readonly maxLength?: number;
  readonly minItems?: number;
  readonly maxItems?: number;
  readonly items?: Schema | false;
  readonly prefixItems?: readonly Schema[];
  readonly properties?: Readonly<Record<string, Schema>>;
  readonly required?: readonly string[];
  readonly additionalProperties?: boolean | Schema;
  readonly anyOf?: readonly Schema[];
  readonly oneOf?: readonly Schema[];
  readonly allOf?: readonly Schema[];
}

interface Content {
  readonly schema: Schema;
  readonly example?: unknown;
}

interface DescribedParameter {
  readonly name: string;
  readonly in: 'path' | 'query' | 'header' | 'cookie';
  readonly required?: boolean;
  readonly schema: Schema;
}

interface DescribedOperation {
  readonly operationId: string;
  readonly parameters?: readonly DescribedParameter[];
  readonly requestBody?: { readonly content: Readonly<Record<string, Content>> };
  readonly responses: Readonly<Record<string, { readonly content?: Readonly<Record<string, Content>> }>>;
}

export interface OpenApi {
  readonly paths: Readonly<Record<string, Readonly<Record<string, DescribedOperation>>>>;
  readonly components: { readonly schemas: Readonly<Record<string, Schema>> };
}

export interface Operation {
  readonly id: string;
  readonly method: string;
  /** With the names of its parameters in braces. */
  readonly path: string;
  readonly parameters: readonly DescribedParameter[];
  /** By content type; empty where no body is taken. */
  readonly body: Readonly<Record<string, Content>>;
  readonly responses: DescribedOperation['responses'];
}

export const operationsOf = (document: OpenApi): readonly Operation[] =>
  Object.entries(document.paths).flatMap(([path, item]) =>
    Object.entries(item).map(([method, { operationId, parameters, requestBody, responses }]) => ({
      id: operationId,
      method: method.toUpperCase(),
      path,
      parameters: parameters ?? [],
      body: requestBody?.content ?? {},
      responses,
    })),
  );

/** The collection that an address is about, as it calls it. */
export const collectionOf = ({ path }: Operation): string =>
  (/([\w-]+)\/\{id\}/.exec(path)?.[1] ?? path.split('/').at(-1))!;

/** What the build writes about the public functions of src/: the server reads it, and checks calls against it. */

/** The words of JSON Schema 2020-12 that are used. */
export interface JsonSchema {
  readonly $ref?: string;
  readonly type?: string;
  readonly description?: string;
  readonly const?: unknown;
  readonly enum?: readonly unknown[];
  readonly anyOf?: readonly JsonSchema[];
  readonly items?: JsonSchema | false;
  readonly prefixItems?: readonly JsonSchema[];
  readonly minItems?: number;
  readonly properties?: Readonly<Record<string, JsonSchema>>;
  readonly required?: readonly string[];
  readonly additionalProperties?: boolean | JsonSchema;
}

interface ParameterDescription {
  readonly name: string;
  /** As in TypeScript. */
  readonly type: string;
  readonly required: boolean;
  readonly text: string;
}

export interface FunctionDescription {
  readonly name: string;
  /** Folder of src/. */
  readonly folder: string;
  readonly signature: string;
  /** What it does and why, one entry a paragraph; the first sentence stands for it in lists. */
  readonly paragraphs: readonly string[];
  readonly summary: string;
  readonly parameters: readonly ParameterDescription[];
  readonly returns: { readonly type: string; readonly text: string };
  readonly throws: string;
  readonly source: string;
  readonly example: {
    readonly code: string;
    /** What the last call of the function in the example was given, by parameter name, and what it returned. */
    readonly arguments: Readonly<Record<string, unknown>>;
    readonly result: unknown;
  };
  /** Schemas for the call over HTTP; null for a function that takes or gives what JSON cannot hold. */
  readonly schemas: { readonly arguments: JsonSchema; readonly result: JsonSchema } | null;
}

export interface CoreDescription {
  /** Of everything that the description is drawn from. */
  readonly digest: string;
  readonly folders: readonly { readonly name: string; readonly question: string }[];
  readonly functions: readonly FunctionDescription[];
  /** Named types, which the schemas refer to as #/$defs/name. */
  readonly definitions: Readonly<Record<string, JsonSchema>>;
}

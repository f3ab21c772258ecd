import type { FunctionDeclaration, SourceFile, Type, VariableDeclaration } from 'ts-morph';
import type { FunctionDescription } from '../../api/calculations/description.ts';
import { NotJson, schemaReader } from './schema-of-type.ts';

/** Draws the schemas of calls over HTTP for functions that are exported from `index`. */
export function callSchemas(index: SourceFile, declarations: readonly FunctionDeclaration[]) {
  const widest = widestCalls(declarations);
  const { schemaOf, allDefinitions } = schemaReader(index);

  /** null where an argument or the result has no place in JSON. */
  function schemasOf(
    declaration: FunctionDeclaration,
    names: readonly string[],
  ): FunctionDescription['schemas'] {
    const parameters = declaration.getParameters();
    try {
      const { given, returned } = typesOf(declaration, widest.get(declaration));
      return {
        arguments: {
          type: 'object',
          properties: Object.fromEntries(given.map((type, place) => [names[place]!, schemaOf(type)])),
          required: names.filter((_, place) => !parameters[place]!.isOptional()),
          additionalProperties: false,
        },
        result: schemaOf(returned),
      };
    } catch (error) {
      if (error instanceof NotJson) return null;
      throw error;
    }
  }
  return { schemasOf, allDefinitions };
}

/**
 * Calls of the generic functions with the widest types that they take. Made before any type is looked at, because a
 * file more makes the compiler see every type anew.
 */
function widestCalls(
  declarations: readonly FunctionDeclaration[],
): Map<FunctionDeclaration, VariableDeclaration> {
  const calls = declarations
    .filter((declaration) => declaration.getTypeParameters().length > 0)
    .map((declaration) => {
      const name = declaration.getNameOrThrow();
      const widest = declaration
        .getTypeParameters()
        .map((one) => one.getConstraint()?.getType().getText() ?? 'unknown');
      const file = declaration.getSourceFile();
      const text = `import { ${name} } from './${file.getBaseName()}';\nexport declare const call: typeof ${name}<${widest.join(', ')}>;`;
      return { declaration, name, file, text };
    });
  const made = calls.map(({ declaration, name, file, text }) => {
    const path = `${file.getDirectoryPath()}/${name}-widest.ts`;
    return [
      declaration,
      file.getProject().createSourceFile(path, text).getVariableDeclarationOrThrow('call'),
    ] as const;
  });
  return new Map(made);
}

/** Types of the arguments and of the result. */
function typesOf(
  declaration: FunctionDeclaration,
  widest: VariableDeclaration | undefined,
): { given: Type[]; returned: Type } {
  const signature = (widest ?? declaration).getType().getCallSignatures()[0]!;
  const given = signature.getParameters().map((one) => one.getTypeAtLocation(widest ?? declaration));
  return { given, returned: signature.getReturnType() };
}

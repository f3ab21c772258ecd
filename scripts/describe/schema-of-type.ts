import { type Node, type Type, type Symbol as TypeScriptSymbol, ts } from 'ts-morph';
import type { JsonSchema } from '../../api/calculations/description.ts';

/** The type has no place in JSON: a typed array, a function, or something unknown. */
export class NotJson extends Error {
  override readonly name = 'NotJson';
}

const documentation = (symbol: TypeScriptSymbol | undefined): { description?: string } => {
  const text = symbol?.compilerSymbol
    .getDocumentationComment(undefined)
    .map((part) => part.text)
    .join('')
    .replace(/\s+/g, ' ')
    .trim();
  return text ? { description: text } : {};
};

/** Generic names that say less than what they stand for; their content is written out in place. */
const transparent = new Set([
  'Outcome',
  'Available',
  'Readonly',
  'Partial',
  'Pick',
  'Omit',
  'Record',
  'ArrayLike',
]);

/**
 * Draws JSON Schema from types. Named types become definitions, which all schemas of one reader share. `at` is a node
 * from which the types can be seen.
 */
export function schemaReader(at: Node) {
  const definitions: Record<string, JsonSchema> = {};
  const owners = new Map<string, ts.Type>();
  const outcomes = new Set<string>();

  function nameOf(type: Type): string | null {
    const alias = type.getAliasSymbol();
    const symbol =
      alias ?? (type.isInterface() || type.getTargetType()?.isInterface() ? type.getSymbol() : undefined);
    const name = symbol?.getName();
    if (name === undefined || name.startsWith('__') || transparent.has(name)) return null;
    const given = alias ? type.getAliasTypeArguments() : type.getTypeArguments();
    if (given.length === 0) return name;
    const names = given.map(nameOf);
    return names.includes(null) ? null : `${name}Of${names.join('And')}`;
  }

  function schemaOf(type: Type): JsonSchema {
    const name = nameOf(type);
    if (name === null || type.isArray() || type.isReadonlyArray()) return contentOf(type);
    const owner = owners.get(name);
    if (owner === undefined) {
      owners.set(name, type.compilerType);
      try {
        definitions[name] = {
          ...documentation(type.getAliasSymbol() ?? type.getSymbol()),
          ...contentOf(type),
        };
      } catch (error) {
        owners.delete(name);
        throw error;
      }
    } else if (owner !== type.compilerType) return contentOf(type);
    return { $ref: `#/$defs/${name}` };
  }

  function contentOf(type: Type): JsonSchema {
    if (type.isNumber()) return { type: 'number' };
    if (type.isString()) return { type: 'string' };
    if (type.isBoolean()) return { type: 'boolean' };
    if (type.isNull()) return { type: 'null' };
    if (type.isLiteral()) return { const: literal(type) };
    if (type.isUnion()) return unionOf(type);
    if (type.isTuple()) return tupleOf(type);
    if (type.isArray() || type.isReadonlyArray())
      return { type: 'array', items: schemaOf(type.getArrayElementTypeOrThrow()) };
    const symbol = type.getSymbol()?.getName() ?? '';
    if (type.getCallSignatures().length > 0 || /^(?:\w+Array|ArrayBuffer|Map|Set|Date)$/.test(symbol))
      throw new NotJson(`${type.getText(at)} has no place in JSON`);
    if (symbol === 'ArrayLike') return { type: 'array', items: schemaOf(type.getNumberIndexType()!) };
    if (type.isObject() || type.isIntersection()) return objectOf(type);
    throw new NotJson(`${type.getText(at)} has no place in JSON`);
  }

  const literal = (type: Type): unknown =>
    type.isBooleanLiteral() ? type.getText() === 'true' : type.getLiteralValueOrThrow();

  function unionOf(type: Type): JsonSchema {
    const members = type.getUnionTypes().filter((one) => !one.isUndefined());
    const literals = members.filter((one) => one.isLiteral() && !one.isBooleanLiteral());
    const booleans = members.filter((one) => one.isBooleanLiteral());
    const others = members.filter((one) => !one.isLiteral());
    const choices: JsonSchema[] = [];
    if (literals.length === 1) choices.push({ const: literal(literals[0]!) });
    if (literals.length > 1) choices.push({ enum: literals.map(literal) });
    if (booleans.length === 1) choices.push({ const: literal(booleans[0]!) });
    if (booleans.length === 2) choices.push({ type: 'boolean' });
    // null last, as one writes it.
    const ordered = [...others.filter((one) => !one.isNull()), ...others.filter((one) => one.isNull())];
    choices.push(...ordered.map(schemaOf));
    return choices.length === 1 ? choices[0]! : { anyOf: choices };
  }

  function tupleOf(type: Type): JsonSchema {
    const target = type.getTargetType()?.compilerType as ts.TupleType | undefined;
    const elements = type.getTupleElements();
    const flags = target?.elementFlags ?? [];
    const fixed = elements.filter((_, index) => ((flags[index] ?? 1) & ts.ElementFlags.Variable) === 0);
    const rest = elements.find((_, index) => ((flags[index] ?? 1) & ts.ElementFlags.Variable) !== 0);
    const required = flags.filter((flag) => (flag & ts.ElementFlags.Required) !== 0).length;
    return {
      type: 'array',
      prefixItems: fixed.map(schemaOf),
      minItems: required,
      items: rest === undefined ? false : schemaOf(rest),
    };
  }

  /** Names of the types that some function gives as an outcome: what it gave may be passed on as it is. */
  function noteOutcome(type: Type): void {
    const members = type.isIntersection() ? type.getIntersectionTypes() : [];
    if (members.some((one) => one.getProperty('available') !== undefined))
      for (const one of members) outcomes.add(nameOf(one) ?? '');
  }

  function objectOf(type: Type): JsonSchema {
    noteOutcome(type);
    const properties: Record<string, JsonSchema> = {};
    const required: string[] = [];
    for (const property of type.getProperties()) {
      const name = property.getName();
      properties[name] = { ...schemaOf(property.getTypeAtLocation(at)), ...documentation(property) };
      if (!property.isOptional()) required.push(name);
    }
    const others = type.getStringIndexType();
    return {
      type: 'object',
      properties,
      required,
      additionalProperties: others === undefined ? false : schemaOf(others),
    };
  }

  /** The definitions so far; what comes out as an outcome may go in as one. */
  function allDefinitions(): Record<string, JsonSchema> {
    const entries = Object.entries(definitions).map(([name, schema]) => [
      name,
      outcomes.has(name) && schema.properties !== undefined
        ? { ...schema, properties: { ...schema.properties, available: { const: true } } }
        : schema,
    ]);
    return Object.fromEntries(entries);
  }

  return { schemaOf, allDefinitions };
}

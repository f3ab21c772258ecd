import { type FunctionDeclaration, Node, type ParameterDeclaration, Project } from 'ts-morph';
import type { CoreDescription, FunctionDescription } from '../../api/calculations/description.ts';
import { callSchemas } from './call-schemas.ts';
import { readDocstring } from './docstring.ts';
import { runExample, splitExample } from './run-example.ts';

type Functions = Readonly<Record<string, unknown>>;
type Described = Pick<CoreDescription, 'functions' | 'definitions'>;

/**
 * Every exported function of src/index.ts, described from its types and its docstring. `functions` are the built ones,
 * for the examples. Throws one error that names everything that is missing.
 */
export function readCore(root: string, functions: Functions): Described {
  const project = new Project({ tsConfigFilePath: `${root}/src/tsconfig.json` });
  const index = project.getSourceFileOrThrow(`${root}/src/index.ts`);
  const declarations = [...index.getExportedDeclarations()].flatMap(([name, found]) => {
    const declaration = found.find(Node.isFunctionDeclaration);
    return declaration === undefined ? [] : [{ name, declaration }];
  });
  const { schemasOf, allDefinitions } = callSchemas(
    index,
    declarations.map(({ declaration }) => declaration),
  );
  const faults: string[] = [];
  const described: FunctionDescription[] = [];
  for (const { name, declaration } of declarations) {
    const file = declaration.getSourceFile().getFilePath().slice(`${root}/src/`.length);
    try {
      const read = describe(name, declaration, functions);
      const schemas = schemasOf(
        declaration,
        read.parameters.map((parameter) => parameter.name),
      );
      described.push({ ...read, folder: file.slice(0, file.lastIndexOf('/')), schemas });
    } catch (error) {
      faults.push(`src/${file}: ${name} ${(error as Error).message}`);
    }
  }
  if (faults.length > 0)
    throw new Error(
      `Every exported function needs a docstring with @throws, a Source: line and an @example that runs.\n${faults.join('\n')}`,
    );
  return { functions: described, definitions: allDefinitions() };
}

function describe(
  name: string,
  declaration: FunctionDeclaration,
  functions: Functions,
): Omit<FunctionDescription, 'folder' | 'schemas'> {
  const comment = declaration.getJsDocs().at(-1)?.getText();
  if (comment === undefined) throw new Error('has no docstring.');
  const text = readDocstring(comment);
  const missing = [
    ...(text.paragraphs.length === 0 ? ['a description'] : []),
    // A function that takes nothing has nobody to refuse.
    ...(text.throws === '' && declaration.getParameters().length > 0 ? ['@throws'] : []),
    ...(text.source === '' ? ['a Source: line'] : []),
    ...(text.example === '' ? ['an @example'] : []),
  ];
  if (missing.length > 0) throw new Error(`lacks ${missing.join(', ')}.`);

  const names = namesOf(
    declaration.getParameters(),
    text.parameters.map((parameter) => parameter.name),
  );
  const parameters = declaration.getParameters().map((parameter, place) => ({
    name: names[place]!,
    type: typeText(parameter.getTypeNode()?.getText() ?? parameter.getType().getText(parameter)),
    required: !parameter.isOptional(),
    text: text.parameters.find((one) => one.name === names[place])?.text ?? '',
  }));
  const returns =
    declaration.getReturnTypeNode()?.getText() ?? declaration.getReturnType().getText(declaration);
  const { code } = splitExample(text.example);
  const { given, returned } = ran(code, name, functions);
  const paragraphs = text.paragraphs;
  return {
    name,
    signature: signatureOf(name, parameters, typeText(returns)),
    paragraphs,
    summary: firstSentence(paragraphs[0]!),
    parameters,
    returns: { type: typeText(returns), text: text.returns },
    throws: text.throws || 'None.',
    source: text.source,
    example: {
      code: text.example,
      arguments: Object.fromEntries(names.slice(0, given.length).map((one, place) => [one, given[place]])),
      result: returned,
    },
  };
}

function ran(code: string, name: string, functions: Functions) {
  if (functions[name] === undefined) throw new Error('came into src/ while the build ran; build again.');
  try {
    const { given, returned } = runExample(code, name, functions);
    if (given === null) throw new Error(`it does not call ${name}`);
    return { given: given.map(plain), returned: plain(returned) };
  } catch (error) {
    throw new Error(`has an @example that does not run: ${(error as Error).message}.`);
  }
}

/** Typed arrays as lists, so that they can be shown. */
function plain(value: unknown): unknown {
  if (ArrayBuffer.isView(value)) return Array.from(value as unknown as ArrayLike<number>);
  if (Array.isArray(value)) return value.map(plain);
  if (typeof value !== 'object' || value === null) return value;
  return Object.fromEntries(Object.entries(value).map(([name, inner]) => [name, plain(inner)]));
}

/** A parameter that is taken apart in place has no name of its own; its docstring names it, else it is the options. */
function namesOf(parameters: readonly ParameterDeclaration[], documented: readonly string[]): string[] {
  const isPlain = (parameter: ParameterDeclaration) => Node.isIdentifier(parameter.getNameNode());
  const used = new Set(parameters.filter(isPlain).map((parameter) => parameter.getName()));
  const free = documented.filter((name) => !used.has(name) && /^\w+$/.test(name));
  return parameters.map((parameter, place) => {
    if (isPlain(parameter)) return parameter.getName();
    return free.shift() ?? (place === 0 ? 'input' : 'options');
  });
}

const typeText = (type: string): string =>
  type
    .replace(/\breadonly\s+/g, '')
    .replace(/\s+/g, ' ')
    .replace(/;? \}/g, ' }');

function signatureOf(name: string, parameters: FunctionDescription['parameters'], returns: string): string {
  const list = parameters.map((one) => `${one.name}${one.required ? '' : '?'}: ${one.type}`);
  const line = `${name}(${list.join(', ')}): ${returns}`;
  return line.length <= 90 ? line : `${name}(\n  ${list.join(',\n  ')},\n): ${returns}`;
}

/** Up to the first full stop or colon that closes a sentence; a colon soon after the start only introduces one. */
const firstSentence = (text: string): string =>
  /^[\s\S]*?(?:\.|(?<=[\s\S]{50}):)(?=\s|$)/.exec(text)?.[0].replace(/:$/, '.') ?? text;

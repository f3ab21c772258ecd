import fc from 'fast-check';
import { contract } from '../../api/contract.ts';
import { type Action, roleMay } from '../../api/permissions.ts';
import { fittingTo, people } from './fitting.ts';
import {
  encoded,
  hostileHeaders,
  hostileSegment,
  hostileValue,
  rawText,
  spoil,
  textChange,
  uploadBytes,
} from './hostile.ts';
import { collectionOf, type OpenApi, type Operation, operationsOf } from './operations.ts';

/** A request as it will be sent. */
export interface AttackRequest {
  readonly operation: Operation;
  readonly method: string;
  /** Path and query. */
  readonly address: string;
  readonly headers: readonly (readonly [string, string])[];
  readonly body: Uint8Array | null;
}

type Text = (value: unknown) => string;
const asText: Text = (value) => (typeof value === 'string' ? value : (JSON.stringify(value) ?? ''));
/** Half a surrogate pair cannot be percent-encoded. */
const inAddress: Text = (value) => encodeURIComponent(Buffer.from(asText(value)).toString());

type Spoilt =
  | 'nothing'
  | 'value'
  | 'remove'
  | 'add'
  | 'text'
  | 'raw'
  | 'bytes'
  | 'type'
  | 'path'
  | 'query'
  | 'headers'
  | 'method';
/** Half of the requests stay as the document wants them, so that they reach what lies behind the first check. */
const spoiltParts: Spoilt[] = [
  ...Array<Spoilt>(11).fill('nothing'),
  'value',
  'value',
  'remove',
  'add',
  'text',
  'raw',
  'bytes',
  'type',
  'path',
  'query',
  'query',
  'headers',
  'headers',
  'method',
];

const actionOf = new Map<string, Action>(Object.entries(contract).map(([key, { action }]) => [key, action]));

/** Mostly somebody who may; what stands behind a permission is worth more than one refusal more. */
function whoActs({ method, path }: Operation): fc.Arbitrary<string | null> {
  const everybody = Object.entries(people);
  const action = actionOf.get(`${method} ${path}`);
  const may = everybody.filter(([, role]) => action === undefined || roleMay(role, action)).map(([id]) => id);
  return fc.oneof(
    { weight: 8, arbitrary: fc.constantFrom(...may) },
    { weight: 1, arbitrary: fc.constantFrom(...everybody.map(([id]) => id)) },
    { weight: 1, arbitrary: fc.constantFrom(null, 'nobody', 'x'.repeat(300)) },
  );
}

/** What a body says of the thing that the address names: the same. */
function agreeing(body: unknown, path: Readonly<Record<string, unknown>>): unknown {
  if (typeof body !== 'object' || body === null || !('record' in body)) return body;
  const { record } = body;
  if (typeof record !== 'object' || record === null) return body;
  const named = Object.entries(path).map(([name, value]) =>
    name === 'id' && !('id' in record) && 'streamId' in record ? ['streamId', value] : [name, value],
  );
  const same = named.filter(([name]) => (name as string) in record);
  return { ...body, record: { ...record, ...Object.fromEntries(same) } };
}

/** Requests to every operation of a document: fitting ones, and ones with one thing wrong. */
export function attackOn(document: OpenApi): fc.Arbitrary<AttackRequest> {
  const fitting = fittingTo(document);
  const operations = operationsOf(document);

  const requestsTo = (operation: Operation): fc.Arbitrary<AttackRequest> => {
    const parametersIn = (place: string): fc.Arbitrary<Record<string, unknown>> => {
      const named = operation.parameters.filter((parameter) => parameter.in === place);
      const nameOf = (name: string): string =>
        place === 'path' && name === 'id' ? collectionOf(operation) : name;
      return fc.record(
        Object.fromEntries(named.map(({ name, schema }) => [name, fitting(schema, nameOf(name))])),
        {
          requiredKeys: named.filter(({ required }) => required).map(({ name }) => name),
          noNullPrototype: true,
        },
      );
    };
    const [contentType, content] = Object.entries(operation.body)[0] ?? [];
    const isJson = contentType?.includes('json') === true;
    const body: fc.Arbitrary<unknown> =
      content === undefined || !isJson
        ? fc.constant(undefined)
        : content.example === undefined
          ? fitting(content.schema)
          : fc.oneof(fc.constant(content.example), fitting(content.schema));

    return fc
      .record({
        path: parametersIn('path'),
        query: parametersIn('query'),
        header: parametersIn('header'),
        body,
        upload: uploadBytes,
        spoilt: fc.constantFrom(...spoiltParts),
        turns: fc.array(fc.nat(30), { minLength: 6, maxLength: 6 }),
        bad: hostileValue,
        segment: hostileSegment,
        raw: rawText,
        change: textChange,
        encode: encoded,
        more: hostileHeaders,
        otherType: fc.constantFrom(
          '',
          'text/plain',
          'application/json; charset=utf-16',
          'application/jsonx',
          'multipart/form-data; boundary=x',
          'application/x-www-form-urlencoded',
          'json',
          '\u00e9',
        ),
        otherMethod: fc.constantFrom('GET', 'HEAD', 'POST', 'PUT', 'DELETE', 'PATCH', 'OPTIONS', 'BREW'),
        strayQuery: fc.constantFrom(
          'x=1',
          'a[]=1',
          '%zz=%zz',
          '__proto__=1',
          '=',
          '&&&',
          `q=${'x'.repeat(4000)}`,
        ),
        person: whoActs(operation),
      })
      .map((drawn) => {
        const { spoilt, turns, bad } = drawn;
        const names = Object.keys(drawn.path);
        const wrongName = spoilt === 'path' ? names[turns[0]! % Math.max(names.length, 1)] : undefined;
        const path =
          spoilt === 'path' && names.length === 0
            ? `${operation.path}/${drawn.segment}`
            : operation.path.replace(/\{(\w+)\}/g, (_, name: string) =>
                name === wrongName ? drawn.segment : inAddress(drawn.path[name]),
              );
        const query = Object.entries(drawn.query).map(([name, value]) => `${name}=${inAddress(value)}`);
        if (spoilt === 'query') {
          const [first] = Object.keys(drawn.query);
          const wrong =
            first === undefined
              ? drawn.strayQuery
              : [
                  drawn.strayQuery,
                  `${first}=${inAddress(bad)}`,
                  `${first}=${drawn.segment}`,
                  `${first.toUpperCase()}=1`,
                ][turns[0]! % 4]!;
          const takesPlace = turns[1]! % 2 === 0 && first !== undefined && wrong.startsWith(`${first}=`);
          if (takesPlace) query[0] = wrong;
          else query.push(wrong);
        }
        const address = query.length === 0 ? path : `${path}?${query.join('&')}`;

        let bytes: Uint8Array | null = null;
        if (isJson) {
          let value = agreeing(drawn.body, drawn.path);
          if (spoilt === 'value') value = spoil(value, turns, bad, 'replace');
          if (spoilt === 'remove' || spoilt === 'add') value = spoil(value, turns, bad, spoilt);
          let text = JSON.stringify(value) ?? 'null';
          if (spoilt === 'text') text = drawn.change(text);
          if (spoilt === 'raw') text = drawn.raw;
          bytes = spoilt === 'bytes' ? drawn.encode(text) : Buffer.from(text);
        } else if (contentType !== undefined) bytes = drawn.upload;
        else if (spoilt === 'raw') bytes = Buffer.from(drawn.raw);

        const headers = new Map<string, string>();
        for (const [name, value] of Object.entries(drawn.header)) headers.set(name, inAddress(value));
        if (drawn.person === null) headers.delete('Runtrue-Person');
        else headers.set('Runtrue-Person', drawn.person);
        if (contentType !== undefined) headers.set('Content-Type', contentType);
        if (spoilt === 'type') headers.set('Content-Type', drawn.otherType);
        if (spoilt === 'headers') for (const [name, value] of drawn.more) headers.set(name, value);
        const method = spoilt === 'method' ? drawn.otherMethod : operation.method;
        const bodiless = method === 'GET' || method === 'HEAD';
        return { operation, method, address, headers: [...headers], body: bodiless ? null : bytes };
      });
  };

  const isCalculation = ({ path }: Operation): boolean => path.startsWith('/api/calculations/');
  const groups = [operations.filter((one) => !isCalculation(one)), operations.filter(isCalculation)]
    .filter((group) => group.length > 0)
    .map((group) => fc.oneof(...group.map(requestsTo)));
  const [plant, calculations] = groups;
  return calculations === undefined
    ? plant!
    : fc.oneof({ weight: 2, arbitrary: plant! }, { weight: 1, arbitrary: calculations });
}

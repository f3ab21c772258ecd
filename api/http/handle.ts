import type { HttpBindings } from '@hono/node-server';
import type { z } from '@hono/zod-openapi';
import type { Context, Hono } from 'hono';
import type { Clock } from '../clock.ts';
import { type Answer, contract, type EndpointKey, type Received } from '../contract.ts';
import { refuseKey, type WriteKey, writeKey } from '../idempotency/idempotency.ts';
import { aboutOf } from '../keys/reach.ts';
import type { By } from '../monitoring/by.ts';
import type { Action } from '../permissions.ts';
import { unacceptable } from '../problem.ts';
import type { SecondSignature } from '../schemas.ts';
import type { Door } from '../store/store.ts';
import { type Acting, type Admit, nobodyActs, requireMay } from '../who.ts';
import type { Client } from './client.ts';
import { entityTag, isHeld } from './entity-tag.ts';
import { parseJson } from './parse-json.ts';
import { readJsonText } from './read-body.ts';
import { wrongMethod } from './refusals.ts';
import { validate } from './validate.ts';

/** Requests carry Node.js's own objects when they come through a socket, and none in process. */
export interface AppEnvironment {
  readonly Bindings: Partial<HttpBindings>;
  readonly Variables: { readonly client: Client; readonly requestId: string };
}
export type App = Hono<AppEnvironment>;

type Signed<K extends EndpointKey> = (typeof contract)[K] extends { readonly signed: true } ? true : false;

/** What a handler gets: the validated parts of the request and, where the endpoint is signed, who acts. */
interface Visit<K extends EndpointKey> extends Received<K> {
  readonly by: Signed<K> extends true ? By : undefined;
  /** What the sender calls this write; part of `by` where that is there. */
  readonly key: WriteKey | undefined;
  /** null where anyone may come in. */
  readonly acting: Acting | null;
  readonly request: Request;
  readonly door: Door;
  /** Where the request came from. */
  readonly address: string;
  /** Headers of the answer. */
  readonly answerHeaders: Headers;
}

/** Registers one endpoint of the contract. */
export type Handle = <K extends EndpointKey>(
  key: K,
  handler: (visit: Visit<K>) => Promise<Answer<K>> | Answer<K>,
) => void;

export const honoPath = (path: string): string => path.replace(/\{(\w+)\}/g, ':$1');

/** Browsers put Origin on what a page sends; when it names this very server, the page of Runtrue was the door. */
function doorOf(headers: Headers): Door {
  const origin = headers.get('origin');
  const host = headers.get('host');
  return origin !== null && host !== null && origin.replace(/^https?:\/\//, '') === host ? 'page' : 'api';
}

export const jsonAnswer = (value: unknown): Response => jsonText(JSON.stringify(value));

/** An answer that is JSON text already. */
export function jsonText(text: string): Response {
  const bytes = Buffer.from(text);
  // With a length, small answers are left uncompressed.
  return new Response(bytes, {
    headers: {
      'Content-Type': 'application/json',
      'Content-Length': String(bytes.byteLength),
      'Cache-Control': 'no-store',
    },
  });
}

/** The parameters after the question mark; a misspelt or repeated one is refused rather than passed over. */
export function readQuery(context: Context, known: readonly string[]): Record<string, string> {
  const query: Record<string, string> = {};
  for (const [name, values] of Object.entries(context.req.queries())) {
    if (!known.includes(name)) {
      const offered =
        known.length === 0 ? 'this address takes none' : `this address takes ${known.join(', ')}`;
      throw unacceptable(name, `is not a parameter here; ${offered}`);
    }
    if (values.length > 1) throw unacceptable(name, 'is given twice; give it once');
    query[name] = values[0]!;
  }
  return query;
}

/**
 * The generic registration: finds out who acts and whether they may, reads and validates each part of the request by
 * the contract, and sends the answer. Handlers see only valid input from people who may.
 */
export function registrar(app: App, admit: Admit, confirmSecond: ConfirmSecond, clock: Clock): Handle {
  return (key, handler) => {
    const endpoint = contract[key] as {
      readonly action: Action;
      readonly params?: z.ZodObject;
      readonly query?: z.ZodObject;
      readonly body?: z.ZodType;
      readonly signed?: true;
      readonly once?: true;
      readonly furtherAction?: (body: unknown) => Action | null;
    };
    const [method, path] = key.split(' ') as [string, string];
    const queryNames = Object.keys(endpoint.query?.shape ?? {});
    app.on(method, honoPath(path), async (context) => {
      const request = context.req.raw;
      const door = doorOf(request.headers);
      const acting =
        endpoint.action === 'come in' ? null : await admit(request, endpoint.action, 'asked later');
      const signedBy = endpoint.signed && acting && byOf(acting, request, door);
      const params = endpoint.params && validate(endpoint.params, context.req.param(), 'path');
      const given = readQuery(context, queryNames);
      const query = endpoint.query && validate(endpoint.query, given, 'query');
      const body = endpoint.body && validate(endpoint.body, parseJson(await readJsonText(request)), 'body');
      const further = endpoint.furtherAction?.(body);
      if (acting && further) requireMay(acting, request, further);
      const about = acting?.within && aboutOf(key, params, query, body);
      if (about) acting?.within?.(about);
      const { address } = context.get('client');
      const second = takeSecondSignature(body);
      if (second) await confirmSecond(request, address, second);
      const content = [key, params, query, body, second?.personId];
      const who = acting?.keyId ?? acting?.person?.id ?? '';
      const onceKey = endpoint.once && writeKey(request.headers, who, content, clock.now());
      if (endpoint.signed && !endpoint.once) refuseKey(request.headers);
      const by = signedBy && {
        ...signedBy,
        ...(second && { secondPersonId: second.personId }),
        ...(onceKey && { key: onceKey }),
      };
      const answerHeaders = new Headers();
      const visit = { params, query, body, by, key: onceKey, acting, request, door, address, answerHeaders };
      const result = await handler(visit as unknown as Visit<typeof key>);
      const text = JSON.stringify(result);
      if (method === 'GET') {
        const tag = answerHeaders.get('ETag') ?? entityTag(text);
        answerHeaders.set('ETag', tag);
        if (isHeld(request.headers.get('If-None-Match'), tag))
          return new Response(null, { status: 304, headers: answerHeaders });
      }
      const answer = jsonText(text);
      for (const [name, value] of answerHeaders) answer.headers.append(name, value);
      return answer;
    });
  };
}

/** Whether the second person is there and has just proven it; refuses otherwise. */
export type ConfirmSecond = (request: Request, address: string, signature: SecondSignature) => Promise<void>;

/** The proof of the second person goes no further than here: handlers, stores and logs only get who signed. */
function takeSecondSignature(body: unknown): SecondSignature | undefined {
  if (typeof body !== 'object' || body === null || !('secondSignature' in body)) return undefined;
  const signature = body.secondSignature as SecondSignature | undefined;
  delete body.secondSignature;
  return signature;
}

/** What goes into the record about who acted. */
function byOf({ person, keyId, how }: Acting, request: Request, door: Door): By {
  if (keyId !== null) return { personId: keyId, door, how };
  if (person === null) throw nobodyActs(request.headers, how);
  return { personId: person.id, door, how };
}

/** Answers every other method on an address that exists. Call after all endpoints are registered. */
export function refuseOtherMethods(app: App): void {
  const methods = new Map<string, Set<string>>();
  for (const route of app.routes) {
    if (route.method === 'ALL') continue;
    const allowed = methods.get(route.path) ?? new Set();
    methods.set(route.path, allowed.add(route.method));
    if (route.method === 'GET') allowed.add('HEAD');
  }
  for (const [path, allowed] of methods) {
    app.all(path, (context) => wrongMethod(context.req.method, context.req.path, [...allowed].sort()));
  }
}

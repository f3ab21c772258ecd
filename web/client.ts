/** The page's only way to the API: typed from the API's own contract. */
import type { Answer, EndpointKey, Sent } from '../api/contract.ts';
import type { Problem } from '../api/schemas.ts';
import { actingPersonId, askingWho, doubts, signInIsOn } from './session.ts';

/** The API refused, and says which field is wrong and how to mend it. */
export class Refusal extends Error {
  override readonly name = 'Refusal';
  readonly problem: Problem;
  constructor(problem: Problem) {
    super(problem.detail);
    this.problem = problem;
  }
}

/** No answer: the network or the server is down. What was sent may be sent again. */
export class Unreachable extends Error {
  override readonly name = 'Unreachable';
  constructor() {
    super('The server does not answer. Check the network; nothing you typed is lost.');
  }
}

type Loose = {
  params?: Record<string, string | number>;
  query?: Record<string, string | number | undefined>;
  body?: unknown;
};

/** Fetches and reads the answer; anything but success becomes a Refusal or Unreachable. */
export async function fetchAnswer(path: string, init: RequestInit): Promise<Response> {
  const headers = new Headers(init.headers);
  const personId = actingPersonId.value;
  if (personId !== null && !headers.has('Runtrue-Person')) headers.set('Runtrue-Person', personId);
  let response: Response;
  try {
    response = await fetch(path, { ...init, headers });
  } catch {
    throw new Unreachable();
  }
  if (response.ok) return response;
  if (response.status === 401 && signInIsOn.value) {
    // The session has ended. What was to be written waits for whoever signs in again.
    doubts.value += 1;
    if ((init.method ?? 'GET') !== 'GET') askingWho.value = true;
  }
  const problem = await response.json().catch(() => null);
  if (problem === null || typeof problem.detail !== 'string') throw new Unreachable();
  throw new Refusal({ errors: [], ...problem });
}

/** Calls one endpoint: `call('PUT /api/lines/{id}', { params: { id: 'R1' }, body: … })`. */
export async function call<K extends EndpointKey>(
  key: K,
  ...[sent]: keyof Sent<K> extends never ? [] : [Sent<K>]
): Promise<Answer<K>> {
  const { params = {}, query = {}, body } = (sent ?? {}) as Loose;
  const [method, template] = key.split(' ') as [string, string];
  const path = template.replace(/\{(\w+)\}/g, (_, name: string) => encodeURIComponent(String(params[name])));
  const search = new URLSearchParams();
  for (const [name, value] of Object.entries(query)) if (value !== undefined) search.set(name, String(value));
  const address = search.size > 0 ? `${path}?${search}` : path;
  const init: RequestInit =
    body === undefined
      ? { method }
      : { method, body: JSON.stringify(body), headers: { 'Content-Type': 'application/json' } };
  return (await fetchAnswer(address, init)).json();
}

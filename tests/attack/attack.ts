/**
 * Sends drawn requests one after the other and judges every answer. The same seed draws the same requests. Goes on
 * after a fault, so that one run shows all kinds of them.
 */
import { setFlagsFromString } from 'node:v8';
import { runInNewContext } from 'node:vm';
import fc from 'fast-check';
import { NEWEST } from './fitting.ts';
import { type Arrived, judgeBy } from './judge.ts';
import { collectionOf, type OpenApi } from './operations.ts';
import { type AttackRequest, attackOn } from './requests.ts';

export interface Target {
  readonly document: OpenApi;
  send(request: AttackRequest): Promise<Arrived>;
  /** Puts right, between batches, what would make all further requests fail: the person who acts. */
  restore(): Promise<void>;
  /** Lines of the log that tell of an unforeseen error. */
  readonly faultsLogged: () => number;
}

interface Fault {
  readonly complaint: string;
  /** Draws the request again: seed of its batch and its place in it. */
  readonly seed: number;
  readonly place: number;
  readonly request: string;
  readonly answer: string;
}

export interface AttackResult {
  readonly sent: number;
  readonly statuses: ReadonlyMap<number, number>;
  /** Operations that gave an answer other than a refusal. */
  readonly reached: ReadonlySet<string>;
  /** One of each kind. */
  readonly faults: readonly Fault[];
  /** Bytes in use after a collection, at the end of each batch. */
  readonly heap: readonly number[];
}

const BATCH = 500;

/** Of what an answer tells of, or of the first where it is a list. */
function idIn({ contentType, text }: Arrived): string | null {
  if (contentType?.startsWith('application/json') !== true || text === '') return null;
  const answer = JSON.parse(text);
  const id = (Array.isArray(answer) ? answer[0] : answer)?.id;
  return typeof id === 'string' ? encodeURIComponent(id) : null;
}

setFlagsFromString('--expose-gc');
const collect = runInNewContext('gc') as () => void;

const shown = ({ method, address, headers, body }: AttackRequest): string =>
  `${method} ${address.slice(0, 400)}\n${headers.map(([name, value]) => `${name}: ${value.slice(0, 80)}`).join('\n')}\n\n` +
  (body === null ? '' : Buffer.from(body).toString().slice(0, 1500));

export async function attack(
  target: Target,
  {
    requests,
    seed,
    onBatch,
  }: {
    readonly requests: number;
    readonly seed: number;
    readonly onBatch?: (result: AttackResult) => void;
  },
): Promise<AttackResult> {
  const arbitrary = attackOn(target.document);
  const judge = judgeBy(target.document);
  const statuses = new Map<number, number>();
  const reached = new Set<string>();
  const faults = new Map<string, Fault>();
  const heap: number[] = [];
  /** By collection: what an attacker reads in the answers. */
  const newest = new Map<string, string>();
  let sent = 0;
  let result: AttackResult = { sent, statuses, reached, faults: [], heap };
  while (sent < requests) {
    const batchSeed = seed + sent;
    await target.restore();
    const batch = fc.sample(arbitrary, { seed: batchSeed, numRuns: Math.min(BATCH, requests - sent) });
    for (const [place, drawn] of batch.entries()) {
      const collection = collectionOf(drawn.operation);
      const address = drawn.address.replace(NEWEST, newest.get(collection) ?? NEWEST);
      const request = { ...drawn, address };
      const { operation, method } = request;
      const loggedBefore = target.faultsLogged();
      const fault = (complaint: string, answer: string): void => {
        const kind = `${operation.id}: ${complaint.replace(/\d+/g, '#')}`;
        if (!faults.has(kind))
          faults.set(kind, {
            complaint: `${operation.id}: ${complaint}`,
            seed: batchSeed,
            place,
            request: shown(request),
            answer,
          });
      };
      try {
        const arrived = await target.send(request);
        statuses.set(arrived.status, (statuses.get(arrived.status) ?? 0) + 1);
        if (arrived.status < 400 && method === operation.method) {
          reached.add(operation.id);
          const id = idIn(arrived);
          if (id !== null) newest.set(collection, id);
        }
        for (const complaint of judge(operation, method, arrived))
          fault(complaint, arrived.text.slice(0, 1500));
      } catch (error) {
        fault(`no answer: ${(error as Error).message}`, String((error as Error).stack));
      }
      if (target.faultsLogged() > loggedBefore) fault('an unforeseen error in the log', '');
      sent += 1;
    }
    collect();
    heap.push(process.memoryUsage().heapUsed);
    result = { sent, statuses, reached, faults: [...faults.values()], heap };
    onBatch?.(result);
  }
  if (({} as { polluted?: unknown }).polluted !== undefined) throw new Error('A prototype was polluted.');
  return result;
}

const median = (values: readonly number[]): number =>
  [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)] ?? 0;

/** How much more memory is in use in the last third of a run than in the second, in bytes. */
export function growthOf(heap: readonly number[]): number {
  const third = Math.floor(heap.length / 3);
  return median(heap.slice(-third)) - median(heap.slice(third, 2 * third));
}

/** Gauges that send and boards that listen, against any running server. */
import { randomUUID } from 'node:crypto';
import { Agent, request } from 'node:http';
import { setTimeout as wait } from 'node:timers/promises';
import type { PlantModel, SampleSubmission } from '../../../api/schemas.ts';

export interface Load {
  /** Where samples are sent. */
  readonly address: string;
  /** Where boards listen; another node of the same plant, where there are several. */
  readonly boardAddress?: string;
  readonly clients: number;
  readonly boards: number;
  readonly seconds: number;
  /** Samples a second of all clients together; 0: each sends its next as soon as the last is answered. */
  readonly rate: number;
  /** Who sends: Runtrue-Person or Authorization. */
  readonly headers: Readonly<Record<string, string>>;
}

export interface LoadResult {
  readonly seconds: number;
  readonly statuses: ReadonlyMap<number, number>;
  /** Milliseconds until a sample was answered, in order of size. */
  readonly answered: readonly number[];
  /** Milliseconds from sending a sample until a board heard of it, of all boards, in order of size. */
  readonly heard: readonly number[];
  /** Events that did not come within ten seconds after the end. */
  readonly missing: number;
}

const quantile = (ordered: readonly number[], share: number): number =>
  ordered[Math.min(ordered.length - 1, Math.floor(share * ordered.length))] ?? Number.NaN;

/** Streams that are measured, each with a part model that has a drawing for it. */
function targetsOf(plant: PlantModel) {
  const targets = plant.streams.flatMap(({ id: streamId, characteristicId }) => {
    const characteristic = plant.characteristics.find(({ id }) => id === characteristicId);
    const drawing = plant.specifications.find((one) => one.characteristicId === characteristicId);
    const plan = plant.plans.find((one) => one.streamId === streamId);
    if (characteristic?.kind !== 'variable' || drawing === undefined) return [];
    const { nominal, lowerSpecificationLimit: lower, upperSpecificationLimit: upper, modelId } = drawing;
    const middle = nominal ?? ((lower ?? 0) + (upper ?? 0)) / 2;
    const spread = lower === null || upper === null ? 0.01 : (upper - lower) / 12;
    return [{ streamId, modelId, unit: characteristic.unit, size: plan?.sampleSize ?? 5, middle, spread }];
  });
  if (targets.length === 0) throw new Error('The plant has no stream that is measured and has a drawing.');
  return targets;
}

/** Listens at one board until it is ended. */
async function openBoard(
  address: string,
  agent: Agent,
  headers: Load['headers'],
  onSample: (id: string) => void,
): Promise<() => void> {
  return new Promise((done, failed) => {
    const outgoing = request(`${address}/api/stream`, { agent, headers }, (incoming) => {
      if (incoming.statusCode !== 200) {
        failed(new Error(`A board got ${incoming.statusCode}.`));
        return;
      }
      let rest = '';
      incoming.setEncoding('utf8');
      incoming.on('error', () => undefined);
      incoming.on('data', (piece: string) => {
        const events = (rest + piece).split('\n\n');
        rest = events.pop()!;
        for (const event of events) {
          const id = /"kind":"sample".*"sampleId":"([\da-f-]+)"/.exec(event)?.[1];
          if (id !== undefined) onSample(id);
        }
      });
      done(() => incoming.destroy());
    });
    outgoing.on('error', failed);
    outgoing.end();
  });
}

export async function generateLoad(load: Load): Promise<LoadResult> {
  const { address, boardAddress = address, headers } = load;
  const answer = await fetch(`${address}/api/plant`, { headers });
  if (!answer.ok) throw new Error(`GET /api/plant: ${answer.status} ${await answer.text()}`);
  const targets = targetsOf((await answer.json()) as PlantModel);

  const sentAt = new Map<string, number>();
  const heard: number[] = [];
  const boardAgent = new Agent({ keepAlive: true, maxSockets: Number.POSITIVE_INFINITY });
  const boards: (() => void)[] = [];
  for (let board = 0; board < load.boards; board++) {
    const close = await openBoard(boardAddress, boardAgent, headers, (id) => {
      const at = sentAt.get(id);
      // Another sender's samples are none of ours.
      if (at !== undefined) heard.push(performance.now() - at);
    });
    boards.push(close);
  }

  const statuses = new Map<number, number>();
  const answered: number[] = [];
  const began = performance.now();
  const end = began + load.seconds * 1000;
  let sent = 0;
  const submission = (): SampleSubmission => {
    const { streamId, modelId, unit, size, middle, spread } = targets[sent % targets.length]!;
    const readings = Array.from({ length: size }, () => ({
      value: Number((middle + spread * (Math.random() + Math.random() - 1)).toFixed(4)),
    }));
    return { id: randomUUID(), streamId, modelId, takenAt: new Date().toISOString(), unit, readings };
  };
  const client = async (): Promise<void> => {
    for (;;) {
      const due = load.rate === 0 ? 0 : began + (sent * 1000) / load.rate;
      const body = submission();
      sent += 1;
      if (due > performance.now()) await wait(due - performance.now());
      if (performance.now() >= end) return;
      const at = performance.now();
      sentAt.set(body.id, at);
      const response = await fetch(`${address}/api/samples`, {
        method: 'POST',
        headers: { 'Content-Type': 'application/json', ...headers },
        body: JSON.stringify(body),
      });
      await response.arrayBuffer();
      answered.push(performance.now() - at);
      statuses.set(response.status, (statuses.get(response.status) ?? 0) + 1);
      if (!response.ok) sentAt.delete(body.id);
    }
  };
  await Promise.all(Array.from({ length: load.clients }, client));
  const seconds = (performance.now() - began) / 1000;
  const expected = (statuses.get(200) ?? 0) * load.boards;
  for (let turn = 0; turn < 100 && heard.length < expected; turn++) await wait(100);
  for (const close of boards) close();
  boardAgent.destroy();
  const ordered = (values: number[]): number[] => values.sort((a, b) => a - b);
  return {
    seconds,
    statuses,
    answered: ordered(answered),
    heard: ordered(heard),
    missing: expected - heard.length,
  };
}

export function printLoad(name: string, { seconds, statuses, answered, heard, missing }: LoadResult): void {
  const milliseconds = (values: readonly number[]): string =>
    `p50 ${quantile(values, 0.5).toFixed(1)} ms, p99 ${quantile(values, 0.99).toFixed(1)} ms`;
  const counts = [...statuses].map(([status, count]) => `${status}: ${count}`).join(', ');
  console.log(`${name}: ${(answered.length / seconds).toFixed(1)} samples a second (${counts})`);
  console.log(`  answered after ${milliseconds(answered)}`);
  if (heard.length > 0 || missing > 0)
    console.log(
      `  heard at the boards after ${milliseconds(heard)}; ${heard.length} events, ${missing} missing`,
    );
}

/** A real server on a small plant, for one fault. */
import { randomUUID } from 'node:crypto';
import type { SampleSubmission } from '../../api/schemas.ts';
import { type Answered, retryingClient } from './client.ts';
import { type Engine, sqliteEngine } from './engine.ts';
import { fillPlant, models, NOMINAL, streamOf } from './plant.ts';
import { type ServerProcess, type Start, startProcess } from './server-process.ts';

type SqliteEngine = ReturnType<typeof sqliteEngine>;

export interface RunningPlant<On extends Engine = SqliteEngine> {
  readonly engine: On;
  server: ServerProcess;
  /** One attempt; null where no answer came or 503. */
  attempt: ReturnType<typeof retryingClient>['attempt'];
  /** One request whatever comes of it. */
  request(method: string, path: string, body?: unknown): Promise<Answered>;
  /** Kills what runs and starts again. */
  restart(start?: Partial<Start>): Promise<void>;
  end(): Promise<void>;
}

export const LINE = 'L1';

/** Five widths about a mean, just taken. */
export const widths = (mean = NOMINAL, changes: Partial<SampleSubmission> = {}): SampleSubmission => ({
  id: randomUUID(),
  streamId: streamOf(LINE),
  modelId: models[0],
  takenAt: new Date().toISOString(),
  unit: 'mm',
  readings: [-0.2, -0.1, 0, 0.1, 0.2].map((difference) => ({
    value: Math.round((mean + difference) * 100) / 100,
  })),
  ...changes,
});

export const runningPlant = async (start: Partial<Start> = {}, folder?: string): Promise<RunningPlant> =>
  runningPlantOn(folder === undefined ? sqliteEngine() : sqliteEngine(folder), start);

export async function runningPlantOn<On extends Engine>(
  engine: On,
  start: Partial<Start> = {},
): Promise<RunningPlant<On>> {
  const store = await engine.open();
  await fillPlant(store, [LINE], Date.now());
  await store.close();
  const begin = (more: Partial<Start>): ServerProcess =>
    startProcess({ ...more, environment: { ...engine.environment, ...more.environment } });
  const plant: RunningPlant<On> = {
    engine,
    server: begin(start),
    attempt: retryingClient(() => plant.server.address).attempt,
    async request(method, path, body) {
      const response = await fetch(`${plant.server.address}${path}`, {
        method,
        headers: { 'Content-Type': 'application/json', 'Runtrue-Person': 'tech' },
        body: body === undefined ? null : JSON.stringify(body),
      });
      return { status: response.status, body: JSON.parse(await response.text()) };
    },
    async restart(more = {}) {
      plant.server.kill('SIGKILL');
      await plant.server.ended;
      plant.server = begin(more);
      await plant.server.ready;
    },
    async end() {
      plant.server.kill('SIGKILL');
      await plant.server.ended;
      await engine.end();
    },
  };
  await plant.server.ready;
  return plant;
}

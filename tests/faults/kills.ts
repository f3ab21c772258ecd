/**
 * The server is killed (SIGKILL) at random moments while clients write with retries: nothing that was acknowledged
 * may be lost or doubled, and every verdict, signal and alarm must be what a server that was never killed gives.
 */
import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import { retryingClient } from './client.ts';
import type { Engine } from './engine.ts';
import { fillPlant } from './plant.ts';
import { askAgain, type Compared, compare } from './replay.ts';
import { type ServerProcess, startProcess } from './server-process.ts';
import { type Act, lineWriter, sampleWriter, seededRandom, type Writer } from './writers.ts';

const OWN_LINES = ['L1', 'L2', 'L3'];
const CROWDED = 'L4';
const CROWD = 3;
export const lines = [...OWN_LINES, CROWDED];
/** One kill in so many comes while the server starts. */
const DURING_START = 8;

/** What is killed where the database is a server of its own. */
const targets = ['server', 'server', 'database', 'database', 'both', 'connections'] as const;

export interface KillsOptions {
  readonly engine: Engine;
  /** Holds the replay. */
  readonly replayEngine: Engine;
  readonly kills: number;
  /** After the last kill the work goes on until so many writes are acknowledged in all. */
  readonly leastWrites?: number;
  readonly seed: number;
  readonly onProgress?: (kills: number, writes: number) => void;
}

export interface KillsResult extends Compared {
  readonly kills: number;
  readonly killed: Readonly<Record<string, number>>;
  readonly unanswered: number;
  readonly written: Readonly<Record<Act['kind'], number>>;
  /** How many of them had a key of their sender. */
  readonly underKeys: number;
  readonly seconds: number;
  readonly writers: readonly Writer[];
  readonly begin: number;
}

export async function runKills(options: KillsOptions): Promise<KillsResult> {
  const { engine, replayEngine, kills, seed, leastWrites = 0, onProgress = () => {} } = options;
  const begin = Date.now();
  const first = await engine.open();
  await fillPlant(first, lines, begin);
  await first.close();

  const random = seededRandom(seed);
  const servers: (ServerProcess | null)[] = Array.from({ length: engine.nodes }, () => null);
  // As a proxy in front of several nodes does: any that is there. How often is asked hangs on the machine, so that
  // its random numbers are drawn apart from those of the kills.
  const choice = seededRandom(seed + 200);
  const client = retryingClient(() => {
    const ready = servers.flatMap((server) => server?.address ?? []);
    return ready.length === 0 ? null : ready[choice.below(ready.length)]!;
  });
  const writers = [
    ...OWN_LINES.map((lineId, index) =>
      lineWriter({ client, lineId, random: seededRandom(seed + 1 + index) }, begin),
    ),
    ...Array.from({ length: CROWD }, (_, index) =>
      sampleWriter({ client, lineId: CROWDED, random: seededRandom(seed + 100 + index) }),
    ),
  ];
  const written = (): number => writers.reduce((sum, { acts }) => sum + acts.length, 0);

  let stop = false;
  let failure: unknown = null;
  const work = Promise.all(
    writers.map(async (writer) => {
      while (!stop) await writer.step();
    }),
  ).catch((error: unknown) => {
    failure = error;
  });
  const acknowledged = async (more: number): Promise<void> => {
    const enough = written() + more;
    while (written() < enough && failure === null) await wait(2);
    if (failure !== null) throw failure;
  };

  let startMilliseconds = 500;
  /** A server that ends although nobody killed it has failed. */
  function start(node: number): ServerProcess {
    const begun = performance.now();
    const folder = engine.environment.DATA_DIR ?? '';
    const server = startProcess({
      environment: {
        ...engine.environment,
        ...(engine.nodes > 1 ? { DATA_DIR: join(folder, `node-${node}`) } : {}),
      },
    });
    server.ready.then(
      () => {
        startMilliseconds = performance.now() - begun;
      },
      () => {},
    );
    void server.ended.then(({ code, signal }) => {
      // One that starts while its database is killed says so and ends; whatever looks after it starts it again.
      const hadNoDatabase =
        engine.database !== undefined &&
        server.address === null &&
        code === 1 &&
        /database|Cannot (connect|open)/.test(server.printed());
      if (hadNoDatabase) {
        setTimeout(() => {
          if (servers[node] === server && !stop) start(node);
        }, 200);
      } else if (signal !== 'SIGKILL') {
        failure ??= new Error(`The server ended by itself with ${code ?? signal}: ${server.printed()}`);
      }
    });
    servers[node] = server;
    return server;
  }
  async function kill(node: number): Promise<void> {
    const server = servers[node];
    servers[node] = null;
    server?.kill('SIGKILL');
    await server?.ended;
  }
  let answeredOtherwise: readonly string[] = [];
  const killed = { server: 0, 'server that starts': 0, database: 0, both: 0, connections: 0 };
  try {
    for (let done = 0; done < kills; done++) {
      const down = servers.indexOf(null);
      for (const node of servers.keys()) if (servers[node] === null) start(node);
      if (done > 0 && down >= 0 && random.below(DURING_START) === 0) {
        await wait(random.uniform() * startMilliseconds);
        await kill(down);
        killed['server that starts'] += 1;
        continue;
      }
      await acknowledged(1 + random.below(25));
      // In the middle of the next write; now and then after a longer stretch of work.
      await wait(random.uniform() * (random.below(20) === 0 ? 1500 : 60));
      const target = engine.database === undefined ? 'server' : targets[random.below(targets.length)]!;
      killed[target] += 1;
      const database = target === 'database' || target === 'both';
      if (target === 'connections') engine.database?.cut();
      if (database) await engine.database?.kill(random.below(2) === 0);
      if (target === 'server') await kill(random.below(servers.length));
      if (target === 'both') await Promise.all([...servers.keys()].map(kill));
      if (database) {
        await wait(random.uniform() * 300);
        await engine.database?.start();
      }
      if ((done + 1) % 50 === 0) onProgress(done + 1, written());
    }
    for (const node of servers.keys()) if (servers[node] === null) start(node);
    await acknowledged(Math.max(writers.length, leastWrites - written()));
    stop = true;
    await work;
    if (failure !== null) throw failure;
    answeredOtherwise = await askAgain(client, writers);
  } finally {
    stop = true;
    await Promise.all([...servers.keys()].map(kill));
  }

  const damage = await engine.damage();
  const store = await engine.open();
  const fresh = await replayEngine.open();
  try {
    const compared = await compare(store, fresh, writers, lines, begin);
    const counts = { sample: 0, correction: 0, event: 0, 'alarm entry': 0, limits: 0, missed: 0, message: 0 };
    for (const { acts } of writers) for (const { kind } of acts) counts[kind] += 1;
    return {
      ...compared,
      problems: [...damage, ...answeredOtherwise, ...compared.problems],
      kills,
      killed,
      unanswered: client.unanswered(),
      written: counts,
      underKeys: writers.reduce((sum, { keyed }) => sum + keyed.length, 0),
      seconds: (Date.now() - begin) / 1000,
      writers,
      begin,
    };
  } finally {
    await store.close();
    await fresh.close();
  }
}

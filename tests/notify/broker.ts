/** A real MQTT broker on loopback, which keeps its sessions on disk and can be killed and started again. */
import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { createServer, connect as open } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import { findBroker } from '../../scripts/find-broker.mjs';

/** Tests over a broker are left out where there is none; scripts/ensure-broker.mjs says so. */
export const noBroker = findBroker() === null;

async function freePort(): Promise<number> {
  const server = createServer().listen(0, '127.0.0.1');
  await once(server, 'listening');
  const { port } = server.address() as { port: number };
  server.close();
  await once(server, 'close');
  return port;
}

const answers = (port: number): Promise<boolean> =>
  new Promise((done) => {
    const socket = open(port, '127.0.0.1');
    socket.once('connect', () => {
      socket.destroy();
      done(true);
    });
    socket.once('error', () => done(false));
  });

export interface Broker {
  readonly url: string;
  start(): Promise<void>;
  kill(signal: NodeJS.Signals): Promise<void>;
  end(): Promise<void>;
}

export async function startBroker(): Promise<Broker> {
  const program = findBroker();
  if (program === null) throw new Error('No broker: run node scripts/ensure-broker.mjs.');
  const folder = mkdtempSync(join(tmpdir(), 'runtrue-broker-'));
  const port = await freePort();
  const configuration = join(folder, 'broker.conf');
  writeFileSync(
    configuration,
    [
      `listener ${port} 127.0.0.1`,
      'allow_anonymous true',
      'persistence true',
      `persistence_location ${folder}/`,
      // Every change is on the disk at once, as far as this broker can.
      'autosave_on_changes true',
      'autosave_interval 1',
      'max_queued_messages 0',
      ...(process.getuid?.() === 0 ? ['user root'] : []),
    ].join('\n'),
  );
  let child: ChildProcess | null = null;
  const broker: Broker = {
    url: `mqtt://127.0.0.1:${port}`,
    async start() {
      child = spawn(program, ['-c', configuration], { stdio: 'ignore' });
      while (!(await answers(port))) {
        if (child.exitCode !== null) throw new Error(`The broker ended with ${child.exitCode}.`);
        await wait(20);
      }
    },
    async kill(signal) {
      if (child === null || child.exitCode !== null || child.signalCode !== null) return;
      const gone = once(child, 'exit');
      child.kill(signal);
      await gone;
    },
    async end() {
      await broker.kill('SIGKILL');
      rmSync(folder, { recursive: true });
    },
  };
  await broker.start();
  return broker;
}

/** The built server as a process that is started, killed and started again on the same data. */
import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { fileURLToPath } from 'node:url';

/** Beside this file once it is built; in the build's folder when a test imports the source. */
export const builtServer = import.meta.url.endsWith('.ts')
  ? fileURLToPath(new URL('../../dist/server/', import.meta.url))
  : fileURLToPath(new URL('./', import.meta.url)).replace(/assets\/$/, '');

export interface ServerProcess {
  /** Where it answers; null while it is not ready. */
  readonly address: string | null;
  /** Resolves when it answers; rejects where it ends before that, with what it printed. */
  readonly ready: Promise<string>;
  readonly ended: Promise<{ readonly code: number | null; readonly signal: NodeJS.Signals | null }>;
  readonly printed: () => string;
  readonly pid: number;
  readonly child: ChildProcess;
  kill(signal: NodeJS.Signals): void;
}

export interface Start {
  /** A file of the build's folder. */
  readonly program?: string;
  readonly environment: Readonly<Record<string, string>>;
  /** Run through this shell line instead, in which "$@" is the server: to set limits first. */
  readonly shell?: string;
  readonly nodeArguments?: readonly string[];
  readonly ipc?: boolean;
}

export function startProcess({
  program = 'main.js',
  environment,
  shell,
  nodeArguments = [],
  ipc = false,
}: Start): ServerProcess {
  const command = [process.execPath, ...nodeArguments, `${builtServer}${program}`];
  const [file, ...words] = shell === undefined ? command : ['bash', '-c', shell, 'bash', ...command];
  const child = spawn(file!, words, {
    // Faults are tried on the data, not on who may do what.
    env: { ...process.env, SIGN_IN: 'off', LOG_LEVEL: 'fatal', PORT: '0', ...environment },
    stdio: ['ignore', 'pipe', 'pipe', ...(ipc ? (['ipc'] as const) : [])],
  });
  let printed = '';
  let address: string | null = null;
  const ended = once(child, 'exit').then(([code, signal]) => ({ code, signal }));
  const ready = new Promise<string>((done, failed) => {
    for (const output of [child.stdout!, child.stderr!]) {
      output.on('data', (chunk: Buffer) => {
        // Long runs print little; a log that grows is cut.
        printed = (printed + chunk.toString()).slice(-20_000);
        address ??= /http:\/\/[\d.:]+/.exec(printed)?.[0] ?? null;
        if (address !== null) done(address);
      });
    }
    ended.then(({ code, signal }) =>
      failed(new Error(`The server ended with ${code ?? signal}: ${printed}`)),
    );
  });
  ready.catch(() => {});
  return {
    get address() {
      return address;
    },
    ready,
    ended,
    printed: () => printed,
    pid: child.pid!,
    child,
    kill: (signal) => void child.kill(signal),
  };
}

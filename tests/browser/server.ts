/** The built server as a process of its own, as a user starts it. */
import { spawn } from 'node:child_process';
import { existsSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

export interface RunningServer {
  readonly address: string;
  /** Everything it printed so far. */
  readonly output: () => string;
  /** Stops it as Ctrl-C does; resolves to its exit code. */
  stop(): Promise<number | null>;
  /** Ends it as a power cut does. */
  kill(): Promise<unknown>;
}

/** The checkout's root, from this file or from a bundle two folders deep. */
const root = fileURLToPath(new URL('../..', import.meta.url));

export async function startServer({
  program,
  dataFolder,
  signIn = 'off',
  environment = {},
}: {
  program: 'main' | 'demo';
  dataFolder: string;
  signIn?: 'on' | 'off';
  environment?: Readonly<Record<string, string>>;
}): Promise<RunningServer> {
  const file = `${root}dist/server/${program}.js`;
  if (!existsSync(file)) throw new Error(`${file} is missing: run "npm run build" first.`);
  const child = spawn(process.execPath, [file], {
    env: { ...process.env, PORT: '0', DATA_DIR: dataFolder, SIGN_IN: signIn, ...environment },
    stdio: ['ignore', 'pipe', 'pipe'],
  });
  let output = '';
  const ended = new Promise<number | null>((done) => child.once('exit', done));
  const address = await new Promise<string>((done, failed) => {
    const read = (chunk: Buffer) => {
      output += chunk.toString();
      const found = /https?:\/\/[\w.:[\]]+/.exec(output);
      if (found) done(found[0]);
    };
    child.stdout.on('data', read);
    child.stderr.on('data', read);
    child.once('exit', (code) => failed(new Error(`The server ended with ${code}: ${output}`)));
  });
  return {
    address,
    output: () => output,
    stop() {
      child.kill('SIGINT');
      return ended;
    },
    kill() {
      child.kill('SIGKILL');
      return ended;
    },
  };
}

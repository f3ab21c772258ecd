import { accessSync, constants, existsSync, mkdirSync, readFileSync, rmSync } from 'node:fs';
import type { Server } from 'node:http';
import type { AddressInfo } from 'node:net';
import { dirname, join, resolve } from 'node:path';
import { createAdaptorServer } from '@hono/node-server';
import { destination } from 'pino';
import { version } from '../package.json' with { type: 'json' };
import { chartFactors } from '../src/samples/chart-factors.ts';
import { createApp } from './app.ts';
import { adoptRecords } from './audit/adopt-records.ts';
import { createBackups } from './backup/backups.ts';
import { calculationProcesses } from './calculations/calculation-processes.ts';
import { type Clock, systemClock } from './clock.ts';
import { watchClock } from './clock-watch.ts';
import { holdFolder } from './hold-folder.ts';
import { answerClientErrors } from './http/client-errors.ts';
import { BadSetting, type Outside, originOf, outsideOf } from './http/outside.ts';
import { createRateLimiters, usualRates } from './http/rate-limits.ts';
import { notReady } from './http/refusals.ts';
import { usualServerLimits } from './http/server-limits.ts';
import { stopServing } from './http/stop-serving.ts';
import { createImports } from './imports/imports.ts';
import { byKeyOr } from './keys/by-key.ts';
import { createKeys } from './keys/keys.ts';
import { createLog } from './log/create-log.ts';
import { createMetrics } from './metrics/metrics.ts';
import { createMonitoring, type Monitoring } from './monitoring/monitoring.ts';
import { createChangeFeed } from './notify/change-feed.ts';
import { doorSettings } from './notify/door-settings.ts';
import { createNodeFeed } from './notify/node-feed.ts';
import { type OpenDoors, openDoors } from './notify/open-doors.ts';
import { createProvider } from './oidc/provider.ts';
import { providerSettings } from './oidc/settings.ts';
import { ProblemError } from './problem.ts';
import { createRouter } from './routing/route-alarms.ts';
import { sealingBy, sealingKey } from './sealing.ts';
import { identifyBySession } from './sign-in/identify.ts';
import { createSignIn } from './sign-in/sign-in.ts';
import { openPostgresStore } from './store/postgres.ts';
import { DatabaseUnusable, readAddress, shownAddress } from './store/postgres-connection.ts';
import { openSqliteStore } from './store/sqlite.ts';
import type { Store } from './store/store.ts';
import { startTracing } from './tracing/start-tracing.ts';
import { named } from './who.ts';

/** Chart factors of larger samples are computed when one arrives. */
const USUAL_SAMPLE_SIZE = 10;

/** The server cannot start; the message is the one sentence that the person at the terminal reads. */
class CannotStart extends Error {
  override readonly name = 'CannotStart';
}

interface Parts {
  readonly store: Store;
  readonly monitoring: Monitoring;
  /** Sets the clock that everything reads "now" from. */
  readonly setClock: (clock: Clock) => void;
}

export interface StartOptions {
  readonly environment: Readonly<Record<string, string | undefined>>;
  /** Folder of what the build made: web/ is the page. */
  readonly builtFolder: string;
  readonly databaseName: string;
  readonly demo: boolean;
  /** true: `prepare` was cut short once, and nothing in the database is worth keeping. */
  readonly isUnfinished?: (store: Store) => Promise<boolean>;
  /** Fills the database before the first request is taken. */
  readonly prepare?: (parts: Parts) => Promise<void>;
}

function portOf(text: string | undefined): number {
  if (text === undefined || text === '') return 8080;
  const port = /^\d{1,5}$/.test(text) ? Number(text) : Number.NaN;
  if (port <= 65_535) return port;
  throw new CannotStart(`PORT must be a whole number from 0 to 65535, not ${JSON.stringify(text)}.`);
}

const loopback = /^(?:localhost|127(?:\.\d{1,3}){3}|::1)$/;

/** Sign-in can be left out only where nobody but this machine reaches the server. */
function signInIsOff(text: string | undefined, host: string, outside: Outside, demo: boolean): boolean {
  const off = text === 'off';
  if (!off && text !== undefined && text !== '' && text !== 'on')
    throw new CannotStart(`SIGN_IN must be on or off, not ${JSON.stringify(text)}.`);
  if (!off && !demo) return false;
  const beyond = loopback.test(host) ? outside.address?.hostname : host;
  if (beyond === undefined || loopback.test(beyond.replace(/^\[|\]$/g, ''))) return true;
  const what = demo ? 'The demo plant has no sign-in, which' : 'SIGN_IN=off';
  throw new CannotStart(
    `${what} is possible only on this machine itself (HOST=127.0.0.1), not on ${beyond}: anybody there could act under any name.`,
  );
}

function readSettings<T>(read: () => T): T {
  try {
    return read();
  } catch (error) {
    throw error instanceof BadSetting ? new CannotStart(error.message) : error;
  }
}

/** Like mkdir -p. Node.js's own recursive mkdir never returns under folders such as /proc. */
function makeFolder(folder: string): void {
  if (existsSync(folder)) return;
  makeFolder(dirname(folder));
  // What is kept in it is for those who run the server.
  mkdirSync(folder, { mode: 0o700 });
}

function folderOf(text: string | undefined): string {
  const folder = resolve(text === undefined || text === '' ? 'data' : text);
  try {
    makeFolder(folder);
    accessSync(folder, constants.R_OK | constants.W_OK | constants.X_OK);
  } catch (error) {
    const { code } = error as NodeJS.ErrnoException;
    throw new CannotStart(
      `The data folder ${folder} cannot be written (${code}); choose another with DATA_DIR or change its rights.`,
    );
  }
  return folder;
}

/** At an address, or in a file where there is none. */
async function openStore(address: string, file: string): Promise<Store> {
  try {
    return address === '' ? openSqliteStore(file) : await openPostgresStore(readAddress(address));
  } catch (error) {
    const { message } = error as Error;
    if (error instanceof DatabaseUnusable) throw new CannotStart(message);
    throw new CannotStart(`Cannot open ${address === '' ? file : shownAddress(address)}: ${message}`);
  }
}

function cannotListen(error: NodeJS.ErrnoException, host: string, port: number): CannotStart {
  if (error.code === 'EADDRINUSE') {
    return new CannotStart(`Port ${port} on ${host} is in use by another program; choose another with PORT.`);
  }
  if (error.code === 'EACCES') {
    return new CannotStart(`Port ${port} may not be opened by this user; choose one above 1023 with PORT.`);
  }
  return new CannotStart(`Cannot listen on ${host} port ${port} (${error.code}); check HOST and PORT.`);
}

async function listen(server: Server, host: string, port: number): Promise<number> {
  await new Promise<void>((done, failed) => {
    server.once('error', (error) => failed(cannotListen(error as NodeJS.ErrnoException, host, port)));
    server.listen(port, host, done);
  });
  return (server.address() as AddressInfo).port;
}

async function run(options: StartOptions): Promise<void> {
  const { environment } = options;
  const port = portOf(environment.PORT);
  const host = environment.HOST || '127.0.0.1';
  const outside = readSettings(() => outsideOf(environment));
  const off = signInIsOff(environment.SIGN_IN, host, outside, options.demo);
  const atProvider = readSettings(() => providerSettings(environment, outside));
  const folder = folderOf(environment.DATA_DIR);
  const settings = readSettings(() => doorSettings(environment, folder));
  const sealing = sealingBy(readSettings(() => sealingKey(environment.SECRETS_KEY_FILE, folder)));
  const log = createLog(environment.LOG_LEVEL || 'warn', destination({ dest: 2, sync: true }));

  // The port is taken before anything long, so that a busy one is told at once.
  let app: ReturnType<typeof createApp> | null = null;
  const server = createAdaptorServer({
    serverOptions: usualServerLimits,
    fetch: (request, bindings) => app?.fetch(request, bindings) ?? notReady(),
  }) as Server;
  answerClientErrors(server, log);
  const endServing = stopServing(server);
  const opened = await listen(server, host, port);
  // Computed once and remembered: the first verdict after a start is as quick as the others.
  for (let size = 2; size <= USUAL_SAMPLE_SIZE; size++) chartFactors(size);

  const letGo = environment.DATABASE_URL ? () => {} : holdOrRefuse(folder);
  const store = await openBegunStore(
    environment.DATABASE_URL || '',
    join(folder, options.databaseName),
    options,
  );
  await adoptRecords(store);
  watchClock(log);
  const tracing = await startTracing(environment);
  const stopping = new AbortController();
  let running: Clock = systemClock;
  const clock: Clock = { now: () => running.now() };
  const setClock = (next: Clock): void => {
    running = next;
  };
  const shared = environment.DATABASE_URL
    ? createNodeFeed({ to: readAddress(environment.DATABASE_URL), log })
    : null;
  const feed = shared ?? createChangeFeed();
  const topicPrefix = settings.mqtt?.topicPrefix ?? null;
  const router = createRouter({ pageAddress: outside.address?.origin ?? '', topicPrefix });
  const metrics = createMetrics(store, { ofProcess: true });
  const monitoring = metrics.counted(createMonitoring({ store, clock, feed, router }));
  const imports = createImports({ store, monitoring, clock, feed, log });

  const descriptionFile = join(options.builtFolder, 'core-description.json');
  const calculations = calculationProcesses({
    description: JSON.parse(readFileSync(descriptionFile, 'utf8')),
    programFile: join(options.builtFolder, 'server', 'calculation-process.js'),
    descriptionFile,
  });
  const backups = createBackups({
    programFile: join(options.builtFolder, 'server', 'backup.js'),
    databaseFile: join(folder, options.databaseName),
    databaseAddress: environment.DATABASE_URL || undefined,
    folder: join(folder, 'backups'),
  });

  let doors: OpenDoors | null = null;
  const stop = async (): Promise<void> => {
    if (stopping.signal.aborted) return;
    stopping.abort();
    await endServing();
    await doors?.end();
    calculations.end();
    await imports.end();
    await shared?.end();
    await store.close();
    letGo();
    await tracing.end();
    process.exit(0);
  };
  process.once('SIGINT', stop);
  process.once('SIGTERM', stop);

  await imports.begin();
  try {
    await options.prepare?.({ store, monitoring, setClock });
  } catch (error) {
    // Stopped in the middle: the database is closed under it.
    if (stopping.signal.aborted) return;
    throw error;
  }
  const keys = createKeys({ store, clock });
  const limiters = createRateLimiters(usualRates);
  const signIn = off ? null : createSignIn({ store, monitoring, clock, sealing });
  const otherwise =
    signIn === null ? named(() => store.plantModel()) : identifyBySession(signIn, store, limiters);
  const provider =
    signIn === null || atProvider === null
      ? null
      : createProvider({ settings: atProvider, signIn, store, monitoring, clock, log });
  app = createApp({
    store,
    metrics,
    monitoring,
    imports,
    identify: byKeyOr({ keys, limiters, store, clock, otherwise }),
    signIn,
    sealing,
    keys,
    outside,
    provider,
    limiters,
    doors: { mail: settings.mail !== null, topicPrefix },
    clock,
    feed,
    log,
    version,
    demo: options.demo,
    calculations,
    backups,
    webFolder: join(options.builtFolder, 'web'),
    stopping: stopping.signal,
  });
  const alone = !environment.DATABASE_URL;
  doors = openDoors({ settings, store, sealing, monitoring, clock, feed, log, alone });
  const shownHost = host.includes(':') ? `[${host}]` : host;
  const here = `http://${shownHost}:${opened}`;
  process.stdout.write(`Runtrue is at ${here}/ (stop with Ctrl-C)\n`);
  if (!loopback.test(host) && outside.address?.protocol !== 'https:')
    process.stdout.write(
      'It listens beyond this machine without TLS: passwords travel in the clear. docs/reverse-proxy.md shows how to put TLS before it; then set PUBLIC_URL.\n',
    );
  if (off && !options.demo)
    process.stdout.write('Sign-in is off (SIGN_IN=off): whoever reaches the page acts under any name.\n');
  const token = (await signIn?.firstStart()) ?? null;
  if (token !== null)
    process.stdout.write(
      `There is no administrator yet. Whoever opens this address within 24 hours becomes it; it works once:\n` +
        `${originOf(outside, host, opened)}/sign-in#first=${token}\n`,
    );
}

/** @returns lets go of it */
function holdOrRefuse(folder: string): () => void {
  const letGo = holdFolder(folder);
  if (letGo !== null) return letGo;
  throw new CannotStart(
    `Another server works in the data folder ${folder}; stop it, choose another folder with DATA_DIR, or let several servers share a PostgreSQL (docs/scale.md).`,
  );
}

/** Opens the database, and begins it anew where its last preparation was cut short. */
async function openBegunStore(address: string, file: string, { isUnfinished }: StartOptions): Promise<Store> {
  const store = await openStore(address, file);
  if (!(await isUnfinished?.(store))) return store;
  if (address !== '') {
    await store.close();
    throw new CannotStart(
      `The last start was cut short before it had loaded everything into ${shownAddress(address)}; give DATABASE_URL an empty database, or another plant in it (?plant=2).`,
    );
  }
  process.stdout.write('The last start was cut short before it had loaded everything; loading anew.\n');
  await store.close();
  for (const ending of ['', '-wal', '-shm']) rmSync(file + ending, { force: true });
  return openStore(address, file);
}

/** null: nobody foresaw it. The database may also go while the start still works in it. */
function reasonOf(error: unknown): string | null {
  if (error instanceof CannotStart) return error.message;
  if (error instanceof ProblemError && error.problem.status === 503) return `Cannot start: ${error.message}`;
  return null;
}

/** Starts the server; where it cannot, says why in one sentence and ends with code 1. */
export async function start(options: StartOptions): Promise<void> {
  try {
    await run(options);
  } catch (error) {
    const reason = reasonOf(error);
    if (reason === null) throw error;
    process.stderr.write(`${reason}\n`);
    process.exit(1);
  }
}

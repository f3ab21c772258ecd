import { randomUUID } from 'node:crypto';
import type { Logger } from 'pino';
import type { Clock } from '../clock.ts';
import type { By } from '../monitoring/by.ts';
import type { Monitoring } from '../monitoring/monitoring.ts';
import { streamContext } from '../monitoring/stream-context.ts';
import type { ChangeFeed } from '../notify/change-feed.ts';
import { conflict, ProblemError, unacceptable, unknown } from '../problem.ts';
import type {
  FileShape,
  ImportFile,
  ImportMapping,
  ImportPreview,
  ImportProgress,
  SampleSubmission,
} from '../schemas.ts';
import type { Store } from '../store/store.ts';
import { type IdentifiedSample, sortOut } from './already-stored.ts';
import { checkMapping } from './check-mapping.ts';
import { findWarnings } from './find-warnings.ts';
import { FILE_LIFETIME, MAX_WAITING_FILES } from './import-bounds.ts';
import { countColumns, guessShapeOf, lookAtFile } from './look-at-file.ts';
import { mapInTurns } from './map-in-turns.ts';
import { readRows } from './read-rows.ts';
import { type ReadFile, readSamples } from './read-samples.ts';
import { UnreadableFile } from './unreadable-file.ts';
import { createWaitingFiles, type ReceivedFile } from './waiting-files.ts';

const SHOWN_SAMPLES = 10;
/** Progress is told this often at most, in milliseconds. */
const TELL_EVERY = 250;

export interface Imports {
  /** Takes a file in and looks at it. */
  receive(
    body: ReadableStream<Uint8Array> | null,
    announced: { fileName: string; bytes: number },
  ): Promise<ImportFile>;
  /** Looks at it again, read in another way. */
  reshape(id: string, shape: FileShape): Promise<ImportFile>;
  preview(id: string, mapping: ImportMapping): Promise<ImportPreview>;
  /** Begins to store; resolves as soon as it is clear that the file has no bad row. */
  commit(id: string, mapping: ImportMapping, by: By): Promise<ImportProgress>;
  progress(id: string): ImportProgress;
  /** Empties the folder of what an earlier run left. */
  begin(): Promise<void>;
  /** Removes the files that wait and stops looking for old ones. */
  end(): Promise<void>;
}

interface Waiting {
  readonly fileName: string;
  readonly received: ReceivedFile;
  readonly at: number;
  progress: ImportProgress;
  /** A commit is being checked or runs. */
  busy: boolean;
}

const asRefusal = (error: unknown): unknown =>
  error instanceof UnreadableFile ? unacceptable('file', error.message) : error;

const submission = (sample: IdentifiedSample, mapping: ImportMapping): SampleSubmission => ({
  id: sample.id,
  streamId: mapping.streamId,
  modelId: mapping.modelId,
  takenAt: new Date(sample.takenAt).toISOString(),
  unit: mapping.unit,
  ...(sample.values !== null && { readings: sample.values.map((value) => ({ value })) }),
  ...(sample.count !== null && { count: sample.count }),
  lot: sample.lot,
});

/** CSV files on their way in: uploaded, looked at, mapped, previewed, and stored all or not at all. */
export function createImports({
  folder,
  store,
  monitoring,
  clock,
  feed,
  log,
}: {
  readonly folder: string;
  readonly store: Store;
  readonly monitoring: Monitoring;
  readonly clock: Clock;
  readonly feed: ChangeFeed;
  readonly log: Logger;
}): Imports {
  const files = createWaitingFiles(folder);
  const waiting = new Map<string, Waiting>();

  const forget = async (id: string): Promise<void> => {
    const file = waiting.get(id);
    waiting.delete(id);
    if (file !== undefined) await files.remove(file.received.path);
  };
  /** Lets go of files that waited too long, and of the oldest where there are too many. */
  const sweep = async (): Promise<void> => {
    const idle = [...waiting].filter(([, file]) => !file.busy);
    const old = idle.filter(([, file]) => clock.now() - file.at > FILE_LIFETIME);
    const excess = idle.slice(0, Math.max(0, waiting.size - MAX_WAITING_FILES));
    for (const [id] of new Map([...old, ...excess])) await forget(id);
  };
  const notRemoved = (error: unknown): void =>
    log.warn({ err: error }, 'an uploaded file could not be removed');
  const sweeping = setInterval(() => {
    sweep().catch(notRemoved);
  }, 3_600_000);
  sweeping.unref();

  const find = (id: string): Waiting => {
    const file = waiting.get(id);
    if (file === undefined) throw unknown('uploaded file', id, 'id');
    return file;
  };
  /** The file of an import that has not begun. */
  const findIdle = (id: string): Waiting => {
    const file = find(id);
    if (file.busy) throw conflict('id', 'This import is running.');
    if (file.progress.state === 'done')
      throw conflict('id', 'This file was imported; upload it again to change something.');
    return file;
  };

  const describe = async (
    id: string,
    { fileName, received }: Waiting,
    shape: FileShape,
  ): Promise<ImportFile> => ({
    id,
    fileName,
    bytes: received.bytes,
    shape,
    ...(await lookAtFile(received.path, shape)),
  });

  const read = async (file: Waiting, mapping: ImportMapping): Promise<ReadFile> => {
    const plant = await store.plantModel();
    const { path } = file.received;
    checkMapping(mapping, plant, await countColumns(path, mapping.shape));
    const { utcOffsetMinutes } = plant.plant;
    return readSamples(readRows(path, mapping.shape), mapping, {
      utcOffsetMinutes,
      now: clock.now(),
      plannedReadings: plant.plans.find(({ streamId }) => streamId === mapping.streamId)?.sampleSize ?? null,
    });
  };

  const run = async (id: string, file: Waiting, submissions: SampleSubmission[], by: By): Promise<void> => {
    const total = submissions.length;
    const tell = (progress: Omit<ImportProgress, 'id' | 'total'>): void => {
      file.progress = { id, total, ...progress };
      feed.publish({ kind: 'import', importId: id, done: progress.done, total });
    };
    let toldAt = 0;
    try {
      await monitoring.acceptAll(submissions, by, (done) => {
        file.progress = { ...file.progress, done };
        if (performance.now() - toldAt < TELL_EVERY) return;
        toldAt = performance.now();
        tell({ state: 'running', done, problem: null });
      });
    } catch (error) {
      file.busy = false;
      if (!(error instanceof ProblemError)) log.error({ err: error, importId: id }, 'an import failed');
      const reason = error instanceof ProblemError ? error.message : "The server's log tells why.";
      tell({ state: 'failed', done: 0, problem: `Nothing of the file was stored. ${reason}` });
      return;
    }
    await files.remove(file.received.path).catch(notRemoved);
    file.busy = false;
    tell({ state: 'done', done: total, problem: null });
  };

  return {
    async receive(body, { fileName, bytes }) {
      await sweep();
      const id = randomUUID();
      let received: ReceivedFile | null = null;
      try {
        received = await files.receive(id, body, bytes);
        const file: Waiting = {
          fileName,
          received,
          at: clock.now(),
          progress: { id, state: 'uploaded', done: 0, total: 0, problem: null },
          busy: false,
        };
        const found = await describe(id, file, await guessShapeOf(received));
        waiting.set(id, file);
        await sweep();
        return found;
      } catch (error) {
        if (received !== null) await files.remove(received.path);
        throw asRefusal(error);
      }
    },

    async reshape(id, shape) {
      try {
        return await describe(id, findIdle(id), shape);
      } catch (error) {
        throw asRefusal(error);
      }
    },

    async preview(id, mapping) {
      try {
        const { samples, readings, badRows } = await read(findIdle(id), mapping);
        const { fresh, alreadyStored } = await sortOut(store, mapping, samples);
        const { streamId, modelId } = mapping;
        const freshLines = new Set(fresh.map(({ line }) => line));
        const warnings = await findWarnings(samples, ({ line }) => freshLines.has(line), {
          context: streamContext(await store.plantModel(), streamId, modelId),
          limitsVersions: await store.limitsVersions(streamId, modelId),
          decimalMark: mapping.shape.decimalMark,
        });
        const times = samples.map(({ takenAt }) => takenAt);
        const extreme = (better: (a: number, b: number) => number): string | null =>
          times.length === 0 ? null : new Date(times.reduce((a, b) => better(a, b))).toISOString();
        return {
          samples: samples.length,
          readings,
          firstTakenAt: extreme(Math.min),
          lastTakenAt: extreme(Math.max),
          alreadyStored,
          firstSamples: samples.slice(0, SHOWN_SAMPLES).map(({ takenAt, values, count }) => ({
            takenAt: new Date(takenAt).toISOString(),
            readings: values === null ? [count!.inspected, count!.nonconforming] : [...values],
          })),
          badRows: [...badRows.rows],
          badRowCount: badRows.count(),
          ...warnings,
        };
      } catch (error) {
        throw asRefusal(error);
      }
    },

    async commit(id, mapping, by) {
      const file = findIdle(id);
      file.busy = true;
      try {
        const { samples, badRows } = await read(file, mapping);
        const [bad] = badRows.rows;
        if (bad !== undefined) {
          const column = bad.column === null ? '' : `, column ${bad.column}`;
          const text = bad.text === '' ? '' : `, "${bad.text}"`;
          const count = badRows.count();
          const which = count === 1 ? '1 problem. It is' : `${count} problems. The first is`;
          throw unacceptable(
            'file',
            `Nothing was stored: the file has ${which} in line ${bad.line}${column}${text}: ${bad.problem}.`,
          );
        }
        const { fresh } = await sortOut(store, mapping, samples);
        const submissions = await mapInTurns(fresh, (sample) => submission(sample, mapping));
        file.progress = { id, state: 'running', done: 0, total: submissions.length, problem: null };
        const answer = file.progress;
        void run(id, file, submissions, { ...by, door: 'import' });
        return answer;
      } catch (error) {
        file.busy = false;
        throw asRefusal(error);
      }
    },

    progress: (id) => find(id).progress,

    async begin() {
      await files.prepare();
    },

    async end() {
      clearInterval(sweeping);
      for (const id of [...waiting.keys()]) await forget(id);
    },
  };
}

import type { Logger } from 'pino';
import type { Clock } from '../clock.ts';
import type { By } from '../monitoring/by.ts';
import type { Monitoring } from '../monitoring/monitoring.ts';
import { streamContext } from '../monitoring/stream-context.ts';
import type { ChangeFeed } from '../notify/change-feed.ts';
import { conflict, ProblemError, unacceptable } from '../problem.ts';
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
import type { FileBytes } from './file-bytes.ts';
import { findWarnings } from './find-warnings.ts';
import { countColumns, guessShapeOf, lookAtFile } from './look-at-file.ts';
import { mapInTurns } from './map-in-turns.ts';
import { readRows } from './read-rows.ts';
import { type ReadFile, readSamples } from './read-samples.ts';
import { UnreadableFile } from './unreadable-file.ts';
import { type Claim, createWaitingFiles, type WaitingFile } from './waiting-files.ts';

const SHOWN_SAMPLES = 10;
/** Progress is told this often at most, in milliseconds. */
const TELL_EVERY = 250;

export interface Imports {
  /** Takes a file in and looks at it. */
  receive(
    body: ReadableStream<Uint8Array> | null,
    sent: { fileName: string; bytes: number; personId: string | null },
  ): Promise<ImportFile>;
  /** Looks at it again, read in another way. */
  reshape(id: string, shape: FileShape): Promise<ImportFile>;
  preview(id: string, mapping: ImportMapping): Promise<ImportPreview>;
  /** Begins to store; resolves as soon as it is clear that the file has no bad row. */
  commit(id: string, mapping: ImportMapping, by: By): Promise<ImportProgress>;
  progress(id: string): Promise<ImportProgress>;
  /** Before the first request: lets go of what an earlier run left in the middle. */
  begin(): Promise<void>;
  /** Waits for what runs. Files that wait go on waiting. */
  end(): Promise<void>;
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

/** Files on their way in: uploaded, looked at, mapped, previewed, and stored all or not at all. */
export function createImports({
  store,
  monitoring,
  clock,
  feed,
  log,
}: {
  readonly store: Store;
  readonly monitoring: Monitoring;
  readonly clock: Clock;
  readonly feed: ChangeFeed;
  readonly log: Logger;
}): Imports {
  const files = createWaitingFiles({ store, clock, alone: !feed.hasOthers });
  /** What is being stored here; what the database says of it is some moments old. */
  const running = new Map<string, ImportProgress>();
  const underway = new Set<Promise<unknown>>();
  const awaitedAtEnd = <T>(work: Promise<T>): Promise<T> => {
    const ended = work.catch(() => {}).finally(() => underway.delete(ended));
    underway.add(ended);
    return work;
  };

  const sweeping = setInterval(() => {
    files.sweep().catch((error: unknown) => log.warn({ err: error }, 'old files were not removed'));
  }, 3_600_000);
  sweeping.unref();

  const isRunning = (): ProblemError => conflict('id', 'This import is running.');
  /** The file of an import that has not begun. */
  const findIdle = async (id: string): Promise<WaitingFile> => {
    if (running.has(id)) throw isRunning();
    const file = await files.find(id);
    if (file.busy) throw isRunning();
    if (file.progress.state === 'done')
      throw conflict('id', 'This file was imported; upload it again to change something.');
    return file;
  };

  const describe = async (
    id: string,
    fileName: string,
    file: FileBytes,
    shape: FileShape,
  ): Promise<ImportFile> => ({
    id,
    fileName,
    bytes: file.bytes,
    shape,
    ...(await lookAtFile(file, shape)),
  });

  const read = async (file: FileBytes, mapping: ImportMapping): Promise<ReadFile> => {
    const plant = await store.plantModel();
    checkMapping(mapping, plant, await countColumns(file, mapping.shape));
    const { utcOffsetMinutes } = plant.plant;
    return readSamples(readRows(file, mapping.shape), mapping, {
      utcOffsetMinutes,
      now: clock.now(),
      plannedReadings: plant.plans.find(({ streamId }) => streamId === mapping.streamId)?.sampleSize ?? null,
    });
  };

  /** What a commit would store; refused where a single row is bad. */
  const submissionsOf = async (file: WaitingFile, mapping: ImportMapping): Promise<SampleSubmission[]> => {
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
    return mapInTurns(fresh, (sample) => submission(sample, mapping));
  };

  const run = async (id: string, claim: Claim, submissions: SampleSubmission[], by: By): Promise<void> => {
    const total = submissions.length;
    const tell = (done: number): void => feed.publish({ kind: 'import', importId: id, done, total });
    let toldAt = 0;
    let problem: string | null = null;
    try {
      await monitoring.acceptAll(
        submissions,
        by,
        (doneSoFar) => {
          running.set(id, { ...running.get(id)!, done: doneSoFar });
          if (performance.now() - toldAt < TELL_EVERY) return;
          toldAt = performance.now();
          tell(doneSoFar);
        },
        ({ sql }) => claim.finish(sql),
      );
    } catch (error) {
      if (!(error instanceof ProblemError)) log.error({ err: error, importId: id }, 'an import failed');
      const reason = error instanceof ProblemError ? error.message : "The server's log tells why.";
      problem = `Nothing of the file was stored. ${reason}`;
    }
    // Where the database is away, whoever asks later finds a claim that ran out, and nothing stored.
    await claim.release(problem).catch(() => {});
    running.delete(id);
    tell(problem === null ? total : 0);
  };

  return {
    receive: (body, sent) =>
      awaitedAtEnd(
        files.receive(body, sent, async (id, received) =>
          describe(id, sent.fileName, received, await guessShapeOf(received)),
        ),
      ).catch((error: unknown) => {
        throw asRefusal(error);
      }),

    async reshape(id, shape) {
      try {
        const file = await findIdle(id);
        return await describe(id, file.fileName, file, shape);
      } catch (error) {
        throw asRefusal(error);
      }
    },

    async preview(id, mapping) {
      try {
        const { samples, readings, badRows } = await read(await findIdle(id), mapping);
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
      const before = by.key && (await monitoring.acceptedAll(by.key));
      if (before)
        return { id, state: 'running', done: 0, total: before.stored + before.repeated, problem: null };
      const file = await findIdle(id);
      const claim = await files.claim(id, () => running.get(id)?.done ?? 0);
      if (claim === null) throw isRunning();
      try {
        const submissions = await submissionsOf(file, mapping);
        await claim.start(submissions.length);
        const answer: ImportProgress = {
          id,
          state: 'running',
          done: 0,
          total: submissions.length,
          problem: null,
        };
        running.set(id, answer);
        awaitedAtEnd(run(id, claim, submissions, { ...by, door: 'import' }));
        return answer;
      } catch (error) {
        await claim.release();
        throw asRefusal(error);
      }
    },

    progress: async (id) => running.get(id) ?? (await files.find(id)).progress,

    async begin() {
      // Where the database is away at this moment, the next sweep does it.
      await files.begin().catch((error: unknown) => log.warn({ err: error }, 'old uploads stay for now'));
    },

    async end() {
      clearInterval(sweeping);
      await Promise.all(underway);
    },
  };
}

import { Worker } from 'node:worker_threads';
import { ProblemError } from '../problem.ts';
import type { Problem } from '../schemas.ts';
import type { CoreDescription } from './description.ts';

/** What a thread sends back: the JSON text of the result, a refusal, or an unforeseen error. */
export type Answered =
  | { readonly result: string }
  | { readonly problem: Problem }
  | { readonly fault: string };

/** Public functions of src/ for those who call over HTTP. */
export interface Calculations {
  readonly description: CoreDescription;
  /** The JSON text of the result; rejects with ProblemError where the call is refused. */
  run(name: string, body: string): Promise<string>;
  end(): Promise<void>;
}

interface Settings {
  readonly description: CoreDescription;
  /** The built calculation-worker.ts, and the file that it reads the description from. */
  readonly workerFile: URL;
  readonly descriptionFile: string;
  readonly threads?: number;
  readonly milliseconds?: number;
}

interface Job {
  readonly name: string;
  readonly body: string;
  readonly done: (result: string) => void;
  readonly failed: (error: Error) => void;
}

const MEGABYTES = 256;
const MOST_WAITING = 50;

const stopped = (name: string, why: string): ProblemError => {
  const message = `${name} ${why} and was stopped; send fewer values or ask for less.`;
  return new ProblemError(422, 'Too much to calculate', message, [{ field: 'body', message }]);
};

const busy = (): ProblemError =>
  new ProblemError(503, 'Too busy', 'Too many calculations are waiting; try again in a few seconds.');

/** A worker and what it is busy with. */
interface Thread {
  readonly worker: Worker;
  job: Job | null;
  limit: NodeJS.Timeout | undefined;
}

/** Calculates in a few threads, each call with a limit of time and memory; a thread that exceeds it is ended. */
export function calculationThreads({
  description,
  workerFile,
  descriptionFile,
  threads = 2,
  milliseconds = 10_000,
}: Settings): Calculations {
  const open = new Set<Thread>();
  const waiting: Job[] = [];

  function openThread(): Thread {
    const worker = new Worker(workerFile, {
      workerData: { descriptionFile },
      resourceLimits: { maxOldGenerationSizeMb: MEGABYTES },
    });
    worker.unref();
    const thread: Thread = { worker, job: null, limit: undefined };
    worker.on('message', (answered: Answered) => {
      const job = release(thread);
      if (job === null) return;
      if ('result' in answered) job.done(answered.result);
      else if ('problem' in answered) {
        const { status, title, detail, errors } = answered.problem;
        job.failed(new ProblemError(status, title, detail, errors));
      } else job.failed(new Error(answered.fault));
      startNext();
    });
    worker.on('error', (error: NodeJS.ErrnoException) => {
      const tooLarge = error.code === 'ERR_WORKER_OUT_OF_MEMORY';
      discard(thread, (name) => (tooLarge ? stopped(name, 'needed too much memory') : error));
    });
    worker.on('exit', () =>
      discard(thread, (name) => new Error(`The thread that calculated ${name} ended.`)),
    );
    open.add(thread);
    return thread;
  }

  function release(thread: Thread): Job | null {
    clearTimeout(thread.limit);
    const { job } = thread;
    thread.job = null;
    return job;
  }

  function discard(thread: Thread, why: (name: string) => Error): void {
    open.delete(thread);
    const job = release(thread);
    void thread.worker.terminate();
    job?.failed(why(job.name));
    startNext();
  }

  function startNext(): void {
    const idle = [...open].find(({ job }) => job === null);
    if (waiting.length === 0 || (idle === undefined && open.size >= threads)) return;
    const thread = idle ?? openThread();
    const job = waiting.shift()!;
    thread.job = job;
    thread.limit = setTimeout(
      () => discard(thread, (name) => stopped(name, `took longer than ${milliseconds / 1000} s`)),
      milliseconds,
    );
    thread.worker.postMessage({ name: job.name, body: job.body });
  }

  return {
    description,
    run: (name, body) =>
      new Promise((done, failed) => {
        if (waiting.length >= MOST_WAITING) return failed(busy());
        waiting.push({ name, body, done, failed });
        startNext();
      }),
    end: async () => {
      waiting.length = 0;
      await Promise.all([...open].map(({ worker }) => worker.terminate()));
    },
  };
}

import { type ChildProcess, fork } from 'node:child_process';
import { ProblemError } from '../problem.ts';
import type { Problem } from '../schemas.ts';
import type { CoreDescription } from './description.ts';

/** What a process sends back: the JSON text of the result, a refusal, or an unforeseen error. */
export type Answered =
  | { readonly result: string }
  | { readonly problem: Problem }
  | { readonly fault: string };

/** Public functions of src/ for those who call over HTTP. */
export interface Calculations {
  readonly description: CoreDescription;
  /** The JSON text of the result; rejects with ProblemError where the call is refused. */
  run(name: string, body: string): Promise<string>;
  end(): void;
}

interface Settings {
  readonly description: CoreDescription;
  /** The built calculation-process.ts, and the file that it reads the description from. */
  readonly programFile: string;
  readonly descriptionFile: string;
  readonly processes?: number;
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

/** A process and what it is busy with. */
interface Place {
  readonly child: ChildProcess;
  job: Job | null;
  limit: NodeJS.Timeout | undefined;
}

/**
 * Calculates in a few processes of their own, each call with a limit of time and memory; a process that exceeds it is
 * ended. Not in threads: memory that runs out in a thread can take the whole server with it.
 */
export function calculationProcesses({
  description,
  programFile,
  descriptionFile,
  processes = 2,
  milliseconds = 10_000,
}: Settings): Calculations {
  const open = new Set<Place>();
  const waiting: Job[] = [];

  function openPlace(): Place {
    const child = fork(programFile, [descriptionFile], {
      execArgv: [`--max-old-space-size=${MEGABYTES}`],
      stdio: ['ignore', 'ignore', 'ignore', 'ipc'],
    });
    child.unref();
    child.channel?.unref();
    const place: Place = { child, job: null, limit: undefined };
    child.on('message', (answered: Answered) => {
      const job = release(place);
      if (job === null) return;
      if ('result' in answered) job.done(answered.result);
      else if ('problem' in answered) {
        const { status, title, detail, errors } = answered.problem;
        job.failed(new ProblemError(status, title, detail, errors));
      } else job.failed(new Error(answered.fault));
      startNext();
    });
    child.on('error', (error) => discard(place, () => error));
    child.on('exit', () => discard(place, (name) => stopped(name, 'needed more memory than it may use')));
    open.add(place);
    return place;
  }

  function release(place: Place): Job | null {
    clearTimeout(place.limit);
    const { job } = place;
    place.job = null;
    return job;
  }

  function discard(place: Place, why: (name: string) => Error): void {
    open.delete(place);
    const job = release(place);
    place.child.kill('SIGKILL');
    job?.failed(why(job.name));
    startNext();
  }

  function startNext(): void {
    const idle = [...open].find(({ job }) => job === null);
    if (waiting.length === 0 || (idle === undefined && open.size >= processes)) return;
    const place = idle ?? openPlace();
    const job = waiting.shift()!;
    place.job = job;
    place.limit = setTimeout(
      () => discard(place, (name) => stopped(name, `took longer than ${milliseconds / 1000} s`)),
      milliseconds,
    );
    place.child.send({ name: job.name, body: job.body });
  }

  return {
    description,
    run: (name, body) =>
      new Promise((done, failed) => {
        if (waiting.length >= MOST_WAITING) return failed(busy());
        waiting.push({ name, body, done, failed });
        startNext();
      }),
    end: () => {
      waiting.length = 0;
      for (const { child } of open) child.kill('SIGKILL');
    },
  };
}

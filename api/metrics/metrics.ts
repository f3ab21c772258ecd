import { Counter, collectDefaultMetrics, Gauge, Histogram, Registry } from 'prom-client';
import type { Monitoring } from '../monitoring/monitoring.ts';
import { ProblemError } from '../problem.ts';
import type { Store } from '../store/store.ts';
import { type Judged, judged } from './judging.ts';

/** Seconds. From a durable insert to what people call slow. */
const buckets = [0.001, 0.0025, 0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1, 2.5, 5];
const judgingBuckets = [0.0001, 0.00025, 0.0005, 0.001, 0.0025, 0.005, 0.01, 0.05, 0.25];
const methods: ReadonlySet<string> = new Set(['GET', 'HEAD', 'POST', 'PUT', 'DELETE', 'PATCH', 'OPTIONS']);

interface Answered {
  readonly method: string;
  /** The pattern of the address, never the address itself: labels stay few and name nobody. */
  readonly route: string;
  readonly status: number;
  readonly seconds: number;
}

export interface Metrics {
  /** After each answer. */
  answered(request: Answered): void;
  /** The same, with its samples counted. */
  counted(monitoring: Monitoring): Monitoring;
  /** How many listen to the event stream. */
  watchReaders(count: () => number): void;
  /** All of it as OpenMetrics text. */
  text(): Promise<string>;
  readonly contentType: string;
  end(): void;
}

/**
 * What an operator watches; every label has few values that are known beforehand. `ofProcess`: memory, processor time,
 * delay of the event loop and open files of this process too.
 */
export function createMetrics(store: Store, { ofProcess = false } = {}): Metrics {
  const registry = new Registry<'application/openmetrics-text; version=1.0.0; charset=utf-8'>();
  registry.setContentType(Registry.OPENMETRICS_CONTENT_TYPE);
  const registers = [registry];
  if (ofProcess) collectDefaultMetrics({ register: registry });
  let readers = (): number => 0;

  const requests = new Counter({
    name: 'runtrue_http_requests_total',
    help: 'Requests answered',
    labelNames: ['method', 'route', 'status'],
    registers,
  });
  const durations = new Histogram({
    name: 'runtrue_http_request_duration_seconds',
    help: 'Time until a request was answered',
    labelNames: ['route'],
    buckets,
    registers,
  });
  const samples = new Counter({
    name: 'runtrue_samples_total',
    help: 'Samples by the door they came through and what became of them',
    labelNames: ['door', 'outcome'],
    registers,
  });
  const judging = new Histogram({
    name: 'runtrue_sample_judging_seconds',
    help: 'Time that judging one sample took',
    buckets: judgingBuckets,
    registers,
  });
  const onJudged = (told: unknown): void => judging.observe((told as Judged).milliseconds / 1000);
  judged.subscribe(onJudged);

  const one = async (sql: string): Promise<number> =>
    Number((await store.sql.one<{ count: number }>(sql))?.count ?? 0);
  const gauge = (name: string, help: string, value: () => number | Promise<number>): void => {
    new Gauge({
      name,
      help,
      registers,
      async collect() {
        this.set(await value());
      },
    });
  };
  gauge('runtrue_alarms_open', 'Alarms that are not closed', () =>
    one("select count(*) as count from alarms where state <> 'closed'"),
  );
  gauge('runtrue_event_stream_readers', 'Pages and programs that listen for changes', () => readers());
  gauge('runtrue_refused_measurements', 'Measurements by MQTT that wait for a person', () =>
    one('select count(*) as count from refused_measurements where accepted_at is null'),
  );
  gauge('runtrue_database_size_bytes', 'Size of the database', () => store.bytes());
  new Gauge({
    name: 'runtrue_outbox_messages',
    help: 'Messages on their way out: waiting to be sent, or given up',
    labelNames: ['door', 'state'],
    registers,
    async collect() {
      for (const door of ['mail', 'webhook', 'mqtt'])
        for (const state of ['waiting', 'dead']) this.set({ door, state }, 0);
      const rows = await store.sql.all<{ door: string; state: string; count: number }>(
        `select door, state, count(*) as count from deliveries where state in ('waiting', 'dead') group by door, state`,
      );
      for (const { door, state, count } of rows) this.set({ door, state }, Number(count));
    },
  });

  return {
    answered({ method, route, status, seconds }) {
      requests.inc({ method: methods.has(method) ? method : 'other', route, status });
      durations.observe({ route }, seconds);
    },
    counted: (monitoring) => ({
      ...monitoring,
      async accept(submission, by) {
        try {
          const accepted = await monitoring.accept(submission, by);
          samples.inc({ door: by.door, outcome: accepted.repeated ? 'repeated' : 'accepted' });
          return accepted;
        } catch (error) {
          samples.inc({ door: by.door, outcome: error instanceof ProblemError ? 'refused' : 'failed' });
          throw error;
        }
      },
      async acceptAll(submissions, by, ...rest) {
        try {
          const done = await monitoring.acceptAll(submissions, by, ...rest);
          samples.inc({ door: by.door, outcome: 'accepted' }, done.stored);
          samples.inc({ door: by.door, outcome: 'repeated' }, done.repeated);
          return done;
        } catch (error) {
          const outcome = error instanceof ProblemError ? 'refused' : 'failed';
          samples.inc({ door: by.door, outcome }, submissions.length);
          throw error;
        }
      },
    }),
    watchReaders(count) {
      readers = count;
    },
    text: () => registry.metrics(),
    contentType: registry.contentType,
    end: () => {
      judged.unsubscribe(onJudged);
      registry.clear();
    },
  };
}

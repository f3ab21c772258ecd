/** The real app in process, on a database of its own, with a small plant. */
import { randomUUID } from 'node:crypto';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pino } from 'pino';
import { expect } from 'vitest';
import { createApp } from '../../api/app.ts';
import type { Calculations } from '../../api/calculations/calculation-processes.ts';
import { type Answer, contract, type EndpointKey, type Sent } from '../../api/contract.ts';
import { createImports } from '../../api/imports/imports.ts';
import { createMonitoring } from '../../api/monitoring/monitoring.ts';
import { createChangeFeed } from '../../api/notify/change-feed.ts';
import { Problem } from '../../api/schemas.ts';
import { openSqliteStore } from '../../api/store/sqlite.ts';

/** A Wednesday, 10:05 local time of the plant below. */
export const start = Date.parse('2025-09-03T10:05:00+02:00');

interface Loose {
  readonly params?: Record<string, string | number>;
  readonly query?: Record<string, string | number | undefined>;
  readonly body?: unknown;
}

/** A request to an endpoint of the contract. */
export function requestTo(key: EndpointKey, sent: Loose = {}, person: string | null = 'kim'): Request {
  const [method, template] = key.split(' ') as [string, string];
  const path = template.replace(/\{(\w+)\}/g, (_, name: string) =>
    encodeURIComponent(String(sent.params?.[name])),
  );
  const search = new URLSearchParams();
  for (const [name, value] of Object.entries(sent.query ?? {})) {
    if (value !== undefined) search.set(name, String(value));
  }
  const headers = new Headers(person === null ? {} : { 'Runtrue-Person': person });
  const init: RequestInit = { method, headers };
  if (sent.body !== undefined) {
    headers.set('Content-Type', 'application/json');
    init.body = JSON.stringify(sent.body);
  }
  return new Request(`http://127.0.0.1${path}${search.size > 0 ? `?${search}` : ''}`, init);
}

/** Reads an answer and holds it against the contract: its schema, and not a field more. */
async function answerOf<K extends EndpointKey>(key: K, response: Response): Promise<Answer<K>> {
  const text = await response.text();
  expect(response.status, text).toBe(200);
  expect(response.headers.get('content-type')).toBe('application/json');
  const answer = JSON.parse(text);
  const checked = contract[key].response.safeParse(answer);
  expect(checked.error?.issues ?? []).toEqual([]);
  expect(answer).toEqual(checked.data);
  return answer;
}

/** Reads a refusal and holds it against RFC 9457. */
export async function problemOf(response: Response): Promise<Problem> {
  const text = await response.text();
  expect(response.headers.get('content-type'), text.slice(0, 200)).toBe('application/problem+json');
  const problem = Problem.strict().parse(JSON.parse(text));
  expect(problem.status).toBe(response.status);
  expect(problem.detail).not.toMatch(/\bat .*\.(?:ts|js):\d+/);
  return problem;
}

export function openApp({
  webFolder = null,
  calculations = null,
  demo = false,
}: {
  webFolder?: string | null;
  calculations?: Calculations | null;
  demo?: boolean;
} = {}) {
  const folder = mkdtempSync(join(tmpdir(), 'runtrue-app-'));
  const store = openSqliteStore(join(folder, 'plant.sqlite'));
  const clock = { time: start, now: () => clock.time };
  const feed = createChangeFeed();
  const monitoring = createMonitoring({ store, clock, feed });
  const stopping = new AbortController();
  const logged: Record<string, unknown>[] = [];
  const log = pino({ level: 'warn' }, { write: (line: string) => logged.push(JSON.parse(line)) });
  const importFolder = join(folder, 'imports');
  const imports = createImports({ folder: importFolder, store, monitoring, clock, feed, log });
  const app = createApp({
    store,
    monitoring,
    imports,
    calculations,
    clock,
    feed,
    log,
    version: '0.0.0-test',
    demo,
    webFolder,
    stopping: stopping.signal,
  });
  const fetch = async (request: Request): Promise<Response> => app.fetch(request);
  /** What the log says, where an answer should have come and did not. */
  const send = async (request: Request): Promise<Response> => {
    const before = logged.length;
    const response = await fetch(request);
    expect(logged.slice(before)).toEqual([]);
    return response;
  };
  return {
    app,
    store,
    clock,
    feed,
    monitoring,
    imports,
    importFolder,
    logged,
    fetch,
    call: async <K extends EndpointKey>(key: K, sent?: Sent<K>, person: string | null = 'kim') =>
      answerOf(key, await send(requestTo(key, sent as Loose, person))),
    refused: async (key: EndpointKey, sent?: Loose, person: string | null = 'kim') =>
      problemOf(await fetch(requestTo(key, sent, person))),
    close: async (): Promise<void> => {
      stopping.abort();
      await imports.end();
      await store.close();
      rmSync(folder, { recursive: true });
    },
  };
}
export type TestApp = ReturnType<typeof openApp>;

const hours = { start: '06:00', end: '22:00', weekdays: [1, 2, 3, 4, 5] };
const reactionPlan = {
  steps: ['Measure the same wheel again.', 'Call the setter.'],
  cautions: ['Only authorised people open a guard.'],
};

/** One rim line with a charted width, a charted runout without limits, and welds that are counted. */
export async function setUpPlant({ call }: TestApp): Promise<void> {
  await call(
    'PUT /api/people/{id}',
    {
      params: { id: 'kim' },
      body: { record: { id: 'kim', name: 'Kim', role: 'engineer' } },
    },
    null,
  );
  await call('PUT /api/plant', { body: { record: { name: 'Test works', utcOffsetMinutes: 120 } } });
  await call('PUT /api/lines/{id}', {
    params: { id: 'R1' },
    body: { record: { id: 'R1', name: 'Rim line 1', partsPerHour: 310, runningHours: hours } },
  });
  await call('PUT /api/stations/{id}', {
    params: { id: 'R1-end' },
    body: { record: { id: 'R1-end', lineId: 'R1', name: 'End of rim line 1' } },
  });
  for (const id of ['Q10', 'Q12']) {
    await call('PUT /api/models/{id}', { params: { id }, body: { record: { id, name: `Wheel ${id}` } } });
  }
  const characteristics = [
    { id: 'C5', name: 'Rim width', kind: 'variable', lowerNaturalBound: null },
    { id: 'C6', name: 'Runout', kind: 'variable', lowerNaturalBound: 0 },
    { id: 'C3', name: 'Weld faults', kind: 'count', lowerNaturalBound: null },
  ] as const;
  for (const { id, name, kind, lowerNaturalBound } of characteristics) {
    await call('PUT /api/characteristics/{id}', {
      params: { id },
      body: {
        record: {
          id,
          name,
          kind,
          unit: kind === 'count' ? '1' : 'mm',
          decimals: kind === 'count' ? 0 : 2,
          gauge: 'caliper',
          lowerNaturalBound,
          upperNaturalBound: null,
        },
      },
    });
  }
  for (const [modelId, nominal] of [
    ['Q10', 127],
    ['Q12', 152.4],
  ] as const) {
    await call('PUT /api/specifications/{characteristicId}/{modelId}', {
      params: { characteristicId: 'C5', modelId },
      body: {
        record: {
          characteristicId: 'C5',
          modelId,
          nominal,
          lowerSpecificationLimit: nominal - 1,
          upperSpecificationLimit: nominal + 1,
        },
      },
    });
  }
  for (const { id } of characteristics) {
    const streamId = `${id}-R1`;
    await call('PUT /api/streams/{id}', {
      params: { id: streamId },
      body: {
        record: { id: streamId, characteristicId: id, stationId: 'R1-end', name: 'Line 1', kind: 'roll set' },
      },
    });
    const charted = id !== 'C3';
    await call('PUT /api/plans/{id}', {
      params: { id: streamId },
      body: {
        record: {
          streamId,
          sampleSize: charted ? 5 : 50,
          firstSampleAt: '06:30',
          intervalMinutes: 60,
          chart: charted ? 'mean-range' : 'none',
          locationRules: charted ? ['one-beyond-three-sigma', 'run-on-one-side'] : [],
          spreadRules: charted ? ['one-beyond-three-sigma'] : [],
          meanLimitsFrom: 'within-subgroup',
          remark: charted ? '' : 'Counts are stored; their chart comes later.',
          raisesAlarms: charted,
          reactionPlan,
        },
      },
    });
  }
}

/** Rim width of Q10 is watched against a mean of 127 mm from the beginning of the day before. */
export async function setLimits({ call }: TestApp): Promise<void> {
  await call('POST /api/limits', {
    body: {
      streamId: 'C5-R1',
      modelId: 'Q10',
      status: 'approved',
      source: { kind: 'given', mean: 127, withinSubgroupStandardDeviation: 0.18 },
      effectiveFrom: '2025-09-02T00:00:00+02:00',
      reason: 'Machine study of August',
    },
  });
}

/** Five widths about a mean, with a range of 0.4 mm. */
export const widths = (mean: number, { takenAt = start, id = randomUUID() as string } = {}) => ({
  id,
  streamId: 'C5-R1',
  modelId: 'Q10',
  takenAt: new Date(takenAt).toISOString(),
  unit: 'mm' as const,
  readings: [-0.2, -0.1, 0, 0.1, 0.2].map((difference) => ({
    value: Math.round((mean + difference) * 100) / 100,
  })),
});

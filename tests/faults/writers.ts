/**
 * What people and gauges write while faults happen. A writer has a line of its own and writes everything there in
 * one order, which is therefore known; on the crowded line several send samples at once. Each keeps what was
 * acknowledged, with the answer.
 */
import { setTimeout as wait } from 'node:timers/promises';
import type {
  Alarm,
  AlarmDetail,
  AlarmEntrySubmission,
  EventSubmission,
  LimitsRequest,
  LimitsVersion,
  MissedSampleSubmission,
  PlantEvent,
  SampleAnswer,
  SampleCorrection,
  SampleSubmission,
} from '../../api/schemas.ts';
import { randomSource } from '../../src/numerics/random.ts';
import type { Answered, Client } from './client.ts';
import { models, NOMINAL, STANDARD_DEVIATION, streamOf } from './plant.ts';

const DAY = 24 * 3_600_000;
const SLOT = 15 * 60_000;

/** Something that was acknowledged. */
/** Quality signs what needs two signatures. */
const secondSignature = { personId: 'quality' };

export type Act =
  | { readonly kind: 'sample'; readonly sent: SampleSubmission; readonly answer: SampleAnswer }
  | {
      readonly kind: 'correction';
      readonly sampleId: string;
      readonly sent: SampleCorrection;
      readonly answer: SampleAnswer;
    }
  | { readonly kind: 'event'; readonly sent: EventSubmission; readonly answer: PlantEvent }
  | { readonly kind: 'alarm entry'; readonly alarmId: number; readonly sent: AlarmEntrySubmission }
  | { readonly kind: 'limits'; readonly sent: LimitsRequest; readonly answer: LimitsVersion }
  | {
      readonly kind: 'missed';
      readonly sent: MissedSampleSubmission;
      readonly answer: { readonly at: string };
    };

export interface Writer {
  readonly lineId: string;
  readonly acts: readonly Act[];
  /** Writes the next thing; resolves when it is acknowledged. */
  step(): Promise<void>;
}

interface Random {
  readonly uniform: () => number;
  readonly normal: () => number;
  readonly below: (count: number) => number;
  readonly uuid: () => string;
}

export function seededRandom(seed: number): Random {
  const { uniform, normal } = randomSource(seed);
  const below = (count: number): number => Math.floor(uniform() * count);
  const digits = (count: number): string =>
    Array.from({ length: count }, () => below(16).toString(16)).join('');
  return {
    uniform,
    normal,
    below,
    // RFC 9562: version 4, variant 10.
    uuid: () => `${digits(8)}-${digits(4)}-4${digits(3)}-${'89ab'[below(4)]}${digits(3)}-${digits(12)}`,
  };
}

const iso = (time: number): string => new Date(time).toISOString();

/** The body of an answer that must be a good one. */
function accepted<T>({ status, body }: Answered): T {
  if (status !== 200) throw new Error(`Refused with ${status}: ${JSON.stringify(body)}`);
  return body as T;
}

/** Stable for a while, then shifted, so that signals are raised and alarms come and go. */
function readings(random: Random, number: number): SampleSubmission['readings'] {
  const shifted = number % 40 >= 30 ? 0.25 : 0;
  const slip = random.below(80) === 0 ? 1.4 : 0;
  return Array.from({ length: 5 }, (_, position) => {
    const value = NOMINAL + shifted + STANDARD_DEVIATION * random.normal() + (position === 2 ? slip : 0);
    return { value: Math.round(value * 100) / 100 };
  });
}

interface WriterParts {
  readonly client: Client;
  readonly lineId: string;
  readonly random: Random;
}

/** Samples only: the newest time is now, one in ten comes in late. */
function sampleMaker({ client, lineId, random }: WriterParts, acts: Act[]) {
  let number = 0;
  let newest = 0;
  return async (): Promise<void> => {
    const late = newest > 0 && random.below(10) === 0;
    if (!late) newest = Math.max(newest + 1, Date.now());
    const sent: SampleSubmission = {
      id: random.uuid(),
      streamId: streamOf(lineId),
      modelId: models[random.below(8) === 0 ? 1 : 0],
      takenAt: iso(late ? newest - 1 - random.below(2000) : newest),
      unit: 'mm',
      readings: readings(random, number++),
    };
    acts.push({
      kind: 'sample',
      sent,
      answer: accepted(await client.send('POST', '/api/samples', 'tech', sent)),
    });
  };
}

/** One of several on a crowded line. */
export function sampleWriter(parts: WriterParts): Writer {
  const acts: Act[] = [];
  return { lineId: parts.lineId, acts, step: sampleMaker(parts, acts) };
}

/** Writes everything that people write, in one order. */
export function lineWriter(parts: WriterParts, begin: number): Writer {
  const { client, lineId, random } = parts;
  const streamId = streamOf(lineId);
  const acts: Act[] = [];
  const revisions = new Map<string, number>();
  let lots = 0;
  let versions = 0;
  let missed = 0;
  let stoppage: EventSubmission | null = null;
  const takeSample = sampleMaker(parts, acts);

  async function correct(): Promise<void> {
    const samples = acts.slice(-60).filter((act) => act.kind === 'sample');
    const chosen = samples[random.below(samples.length)];
    if (chosen === undefined) return takeSample();
    const sampleId = chosen.sent.id;
    const revision = revisions.get(sampleId) ?? 1;
    const sent: SampleCorrection = {
      id: random.uuid(),
      revision,
      readings: readings(random, random.below(40)),
      reason: 'The same piece measured again.',
    };
    const path = `/api/samples/${sampleId}/corrections`;
    const answer = accepted<SampleAnswer>(await client.send('POST', path, 'tech', sent));
    revisions.set(sampleId, revision + 1);
    acts.push({ kind: 'correction', sampleId, sent, answer });
  }

  async function recordEvent(): Promise<void> {
    const common = {
      id: random.uuid(),
      lineId,
      stationId: null,
      streamId: null,
      at: iso(Date.now()),
      until: null,
      modelId: null,
      lot: null,
      text: '',
    };
    let sent: EventSubmission;
    if (stoppage !== null) {
      sent = { ...stoppage, until: iso(Date.now()) };
      stoppage = null;
    } else {
      const kind = (['coil', 'coil', 'stoppage', 'note'] as const)[random.below(4)]!;
      if (kind === 'coil') lots += 1;
      sent = { ...common, kind, lot: kind === 'coil' ? `L${lots}` : null };
      if (kind === 'stoppage') stoppage = sent;
    }
    const answer = accepted<PlantEvent>(await client.send('POST', '/api/events', 'tech', sent));
    acts.push({ kind: 'event', sent, answer });
  }

  async function workOnAlarm(): Promise<void> {
    const query = `open=true&streamId=${streamId}`;
    const [alarm] = accepted<Alarm[]>(await client.send('GET', `/api/alarms?${query}`, 'supervisor'));
    if (alarm === undefined) return takeSample();
    const id = random.uuid();
    let sent: AlarmEntrySubmission;
    if (alarm.acknowledgedAt === null) sent = { id, kind: 'acknowledged' };
    else if (alarm.decision === null) {
      sent = { id, kind: 'decision', decision: 'adjust', text: 'Rolls set anew.' };
    } else if (alarm.cause === null) sent = { id, kind: 'cause', text: 'Worn roll.' };
    else if (random.below(3) === 0) {
      sent = {
        id,
        kind: 'quarantined',
        countedParts: alarm.containment.suspectParts,
        text: 'Fenced off.',
      };
    } else sent = { id, kind: 'closed', text: 'Back to normal.', secondSignature };
    const path = `/api/alarms/${alarm.id}/entries`;
    const personId = sent.kind === 'closed' ? 'engineer' : 'supervisor';
    accepted<AlarmDetail>(await client.send('POST', path, personId, sent));
    acts.push({ kind: 'alarm entry', alarmId: alarm.id, sent });
  }

  /** Limits carry no id of the sender: the reason, which is told apart, says whether they are there already. */
  async function freezeLimits(): Promise<void> {
    versions += 1;
    const sent: LimitsRequest = {
      streamId,
      modelId: models[0],
      status: 'approved',
      source: {
        kind: 'given',
        mean: Math.round((NOMINAL + 0.05 * random.normal()) * 100) / 100,
        withinSubgroupStandardDeviation: STANDARD_DEVIATION,
      },
      effectiveFrom: iso(Date.now() - 500),
      reason: `Rolls changed, number ${versions}`,
      secondSignature,
    };
    let answer: LimitsVersion | undefined;
    while (answer === undefined) {
      const answered = await client.attempt('POST', '/api/limits', 'engineer', sent);
      if (answered !== null) answer = accepted<LimitsVersion>(answered);
      else {
        // What was sent may still be on its way into the database.
        await wait(300);
        const path = `/api/limits?streamId=${streamId}&modelId=${models[0]}`;
        const known = accepted<LimitsVersion[]>(await client.send('GET', path, 'engineer'));
        answer = known.find(({ reason }) => reason === sent.reason);
      }
    }
    acts.push({ kind: 'limits', sent, answer });
  }

  /** Slots of the day before the run, which nobody has taken. */
  async function declareMissed(): Promise<void> {
    const dueAt = Math.floor((begin - DAY) / SLOT) * SLOT + missed * SLOT;
    missed += 1;
    if (dueAt > begin - SLOT) return takeSample();
    const sent: MissedSampleSubmission = { streamId, dueAt: iso(dueAt), reason: 'Nobody at the gauge.' };
    const answer = accepted<{ at: string }>(await client.send('POST', '/api/missed-samples', 'tech', sent));
    acts.push({ kind: 'missed', sent, answer });
  }

  return {
    lineId,
    acts,
    step() {
      const chance = random.below(1000);
      if (chance < 60) return correct();
      if (chance < 100) return recordEvent();
      if (chance < 220) return workOnAlarm();
      if (chance < 232) return freezeLimits();
      if (chance < 238) return declareMissed();
      return takeSample();
    },
  };
}

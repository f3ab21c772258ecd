/**
 * What people and gauges write while faults happen. A writer has a line of its own and writes everything there in
 * one order, which is therefore known; on the crowded line several send samples at once. Each keeps what was
 * acknowledged, with the answer.
 */
import type {
  Alarm,
  AlarmDetail,
  AlarmEntrySubmission,
  Delivery,
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
import { models, NOMINAL, recipientId, STANDARD_DEVIATION, streamOf } from './plant.ts';

const DAY = 24 * 3_600_000;
const SLOT = 15 * 60_000;

/** Quality signs what needs two signatures. */
const secondSignature = { personId: 'quality' };

/** Something that was acknowledged. */
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
    }
  | { readonly kind: 'message'; readonly sent: null; readonly answer: Delivery };

/** A write that its sender gave a key, and its answer: the same is the answer for a day. */
interface Keyed {
  readonly key: string;
  readonly path: string;
  readonly personId: string;
  readonly sent: unknown;
  readonly answer: unknown;
}

export interface Writer {
  readonly lineId: string;
  readonly acts: readonly Act[];
  readonly keyed: readonly Keyed[];
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

type Post = <T>(path: string, personId: string, sent: unknown, withKey?: boolean) => Promise<T>;

/** Sends until it is answered; every other write under a key, where nothing is said. */
function poster({ client, random }: WriterParts, keyed: Keyed[]): Post {
  return async <T>(path: string, personId: string, sent: unknown, withKey = random.below(2) === 0) => {
    const key = withKey ? random.uuid() : null;
    const answer = accepted<T>(await client.send('POST', path, personId, sent, key));
    if (key !== null) keyed.push({ key, path, personId, sent, answer });
    return answer;
  };
}

/** Samples only: the newest time is now, one in ten comes in late. */
function sampleMaker({ lineId, random }: WriterParts, acts: Act[], post: Post) {
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
    // Most samples come as gauges send them: with their own id and nothing else.
    const answer = await post<SampleAnswer>('/api/samples', 'tech', sent, random.below(10) === 0);
    acts.push({ kind: 'sample', sent, answer });
  };
}

/** One of several on a crowded line. */
export function sampleWriter(parts: WriterParts): Writer {
  const acts: Act[] = [];
  const keyed: Keyed[] = [];
  return { lineId: parts.lineId, acts, keyed, step: sampleMaker(parts, acts, poster(parts, keyed)) };
}

/** Writes everything that people write, in one order. */
export function lineWriter(parts: WriterParts, begin: number): Writer {
  const { client, lineId, random } = parts;
  const streamId = streamOf(lineId);
  const acts: Act[] = [];
  const keyed: Keyed[] = [];
  const post = poster(parts, keyed);
  const revisions = new Map<string, number>();
  let lots = 0;
  let versions = 0;
  let missed = 0;
  let stoppage: EventSubmission | null = null;
  const takeSample = sampleMaker(parts, acts, post);

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
    const answer = await post<SampleAnswer>(path, 'tech', sent);
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
    const answer = await post<PlantEvent>('/api/events', 'tech', sent);
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
    await post<AlarmDetail>(path, personId, sent);
    acts.push({ kind: 'alarm entry', alarmId: alarm.id, sent });
  }

  /** Limits carry no id of their own: the key alone keeps them from being there twice. */
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
    const answer = await post<LimitsVersion>('/api/limits', 'engineer', sent, true);
    acts.push({ kind: 'limits', sent, answer });
  }

  /** A message that somebody tries a recipient with has no id of its own either. */
  async function tryRecipient(): Promise<void> {
    const path = `/api/routing/recipients/${recipientId}/test`;
    const answer = await post<Delivery>(path, 'engineer', undefined, true);
    acts.push({ kind: 'message', sent: null, answer });
  }

  /** Slots of the day before the run, which nobody has taken. */
  async function declareMissed(): Promise<void> {
    const dueAt = Math.floor((begin - DAY) / SLOT) * SLOT + missed * SLOT;
    missed += 1;
    if (dueAt > begin - SLOT) return takeSample();
    const sent: MissedSampleSubmission = { streamId, dueAt: iso(dueAt), reason: 'Nobody at the gauge.' };
    const answer = await post<{ at: string }>('/api/missed-samples', 'tech', sent);
    acts.push({ kind: 'missed', sent, answer });
  }

  // What comes seldom comes in a short run as well.
  const firstOfAll = [takeSample, freezeLimits, tryRecipient];
  return {
    lineId,
    acts,
    keyed,
    step() {
      const first = firstOfAll.shift();
      if (first !== undefined) return first();
      const chance = random.below(1000);
      if (chance < 60) return correct();
      if (chance < 100) return recordEvent();
      if (chance < 220) return workOnAlarm();
      if (chance < 240) return freezeLimits();
      if (chance < 246) return declareMissed();
      if (chance < 266) return tryRecipient();
      return takeSample();
    },
  };
}

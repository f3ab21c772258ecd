/** What to measure first: late before due before what comes, the longest waiting on top. */
import type { DueSample, StationTask } from '../../api/schemas.ts';

export type Urgency = 'late' | 'due' | 'upcoming' | 'done' | 'unplanned';

export interface OrderedTask {
  readonly task: StationTask;
  readonly urgency: Urgency;
  /** A first piece waits for it, so it is due now, whatever the plan says. */
  readonly firstPiece: boolean;
  /** When the sample is or was due; null when nothing more is due today, or nothing is planned. */
  readonly dueAt: string | null;
}

const rank: Record<Urgency, number> = { late: 0, due: 1, upcoming: 2, done: 3, unplanned: 4 };

const earliest = (slots: readonly DueSample[], state: DueSample['state']): DueSample | undefined =>
  slots.filter((slot) => slot.state === state).sort(byTime)[0];

const byTime = (a: { dueAt: string }, b: { dueAt: string }): number =>
  Date.parse(a.dueAt) - Date.parse(b.dueAt);

function urgencyOf(task: StationTask, firstPiece: boolean): OrderedTask {
  for (const urgency of ['late', 'due', 'upcoming'] as const) {
    if (urgency === 'upcoming' && firstPiece) break;
    const slot = earliest(task.slots, urgency);
    if (slot !== undefined) return { task, firstPiece, urgency, dueAt: slot.dueAt };
  }
  if (firstPiece) return { task, firstPiece, urgency: 'due', dueAt: null };
  return { task, firstPiece, urgency: task.slots.length > 0 ? 'done' : 'unplanned', dueAt: null };
}

/** `firstPieces`: streams that a first piece waits for. */
export const orderTasks = (
  tasks: readonly StationTask[],
  firstPieces: ReadonlySet<string> = new Set(),
): readonly OrderedTask[] =>
  tasks
    .map((task) => urgencyOf(task, firstPieces.has(task.streamId)))
    .sort(
      (a, b) =>
        rank[a.urgency] - rank[b.urgency] ||
        (a.dueAt === null || b.dueAt === null ? 0 : byTime({ dueAt: a.dueAt }, { dueAt: b.dueAt })) ||
        a.task.streamId.localeCompare(b.task.streamId, 'en', { numeric: true }),
    );

/** What the tech goes on to: the most urgent sample that is late or due, of another stream than the one just done. */
export const nextToMeasure = (
  ordered: readonly OrderedTask[],
  doneStreamId: string | null,
): OrderedTask | null =>
  ordered.find(
    ({ task, urgency }) => task.streamId !== doneStreamId && (urgency === 'late' || urgency === 'due'),
  ) ?? null;

/** Planned samples of one stream that were not taken and that nobody has explained yet, oldest first. */
export interface MissedSamples {
  readonly streamId: string;
  readonly dueAt: readonly string[];
}

/** By stream, the one with the oldest gap first. */
export const missedSamples = (tasks: readonly StationTask[]): readonly MissedSamples[] =>
  tasks
    .map(({ streamId, slots }) => ({
      streamId,
      dueAt: slots
        .filter((slot) => slot.state === 'missed')
        .sort(byTime)
        .map(({ dueAt }) => dueAt),
    }))
    .filter(({ dueAt }) => dueAt.length > 0)
    .sort((a, b) => byTime({ dueAt: a.dueAt[0]! }, { dueAt: b.dueAt[0]! }));

/** Values typed but not yet sent, kept on the device: a call, a reload or an empty battery does not lose them. */
import type { StationTask } from '../../api/schemas.ts';
import { formatTime } from '../format.ts';
import { plansByStreamId, utcOffsetMinutes } from '../plant.ts';
import { type Entry, isUntouched } from './entry.ts';

interface Draft {
  readonly sampleId: string;
  readonly modelId: string | null;
  readonly entry: Entry;
  /** When the first value was typed, plant time. */
  readonly startedAt: number;
}

const key = (streamId: string): string => `runtrue.draft.${streamId}`;

/** The draft of a task; null when there is none, or it was begun for another model or another number of pieces. */
export function draftOf(task: StationTask): Draft | null {
  const size = plansByStreamId.value.get(task.streamId)?.sampleSize;
  try {
    const draft = JSON.parse(localStorage.getItem(key(task.streamId)) ?? 'null') as Draft | null;
    return draft !== null && draft.modelId === task.modelId && draft.entry.fields.length === size
      ? draft
      : null;
  } catch {
    return null;
  }
}

export function keepDraft(streamId: string, draft: Draft): void {
  if (isUntouched(draft.entry)) {
    dropDraft(streamId);
    return;
  }
  try {
    localStorage.setItem(key(streamId), JSON.stringify(draft));
  } catch {
    // No room on the device: the values are still on the screen.
  }
}

export const dropDraft = (streamId: string): void => localStorage.removeItem(key(streamId));

/** "2 of 5 typed at 14:02", for the list of tasks. */
export function draftProgress(task: StationTask): string | null {
  const draft = draftOf(task);
  if (draft === null) return null;
  const typed = draft.entry.fields.filter((field) => field.state !== 'empty').length;
  const time = formatTime(draft.startedAt, utcOffsetMinutes.value);
  return `${typed} of ${draft.entry.fields.length} typed, begun ${time}`;
}

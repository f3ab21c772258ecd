/**
 * The life of an alarm after IEC 62682 (states and transitions from memory; confirm edition and clause): raised it
 * is unacknowledged; a person acknowledges it; when the condition is gone it has returned to normal, acknowledged or
 * not; a new signal raises it again. Closing is our own last step: it asks for an acknowledgement and a cause.
 */
import { conflict } from '../problem.ts';
import type { AlarmDecision } from '../schemas.ts';
import type { AlarmRow } from '../store/store.ts';

export const raised = (
  streamId: string,
  modelId: string,
  sentence: string,
  at: number,
): Omit<AlarmRow, 'id'> => ({
  streamId,
  modelId,
  state: 'unacknowledged',
  active: true,
  raisedAt: at,
  acknowledgedAt: null,
  returnedToNormalAt: null,
  closedAt: null,
  decision: null,
  cause: null,
  sentence,
});

export const raisedAgain = (alarm: AlarmRow): AlarmRow => ({
  ...alarm,
  state: 'unacknowledged',
  active: true,
  acknowledgedAt: null,
  returnedToNormalAt: null,
});

export const returnedToNormal = (alarm: AlarmRow, at: number): AlarmRow => ({
  ...alarm,
  state: 'returned-to-normal',
  active: false,
  returnedToNormalAt: at,
});

export function acknowledged(alarm: AlarmRow, at: number): AlarmRow {
  refuseClosed(alarm);
  if (alarm.acknowledgedAt !== null) {
    throw conflict('kind', 'Someone has acknowledged this alarm already; go on with a decision.');
  }
  return { ...alarm, state: alarm.active ? 'acknowledged' : alarm.state, acknowledgedAt: at };
}

export function decided(alarm: AlarmRow, decision: AlarmDecision): AlarmRow {
  refuseClosed(alarm);
  return { ...alarm, decision };
}

export function explained(alarm: AlarmRow, cause: string): AlarmRow {
  refuseClosed(alarm);
  return { ...alarm, cause };
}

/** An action or a quarantine: it is recorded and changes no state. */
export function worked(alarm: AlarmRow): AlarmRow {
  refuseClosed(alarm);
  return alarm;
}

export function closed(alarm: AlarmRow, at: number): AlarmRow {
  refuseClosed(alarm);
  if (alarm.acknowledgedAt === null) {
    throw conflict('kind', `Alarm ${alarm.id} is not acknowledged; acknowledge it, then close it.`);
  }
  if (alarm.cause === null) {
    throw conflict('kind', `Alarm ${alarm.id} has no cause yet; record the cause, then close it.`);
  }
  return { ...alarm, state: 'closed', closedAt: at };
}

function refuseClosed(alarm: AlarmRow): void {
  if (alarm.closedAt === null) return;
  throw conflict(
    'kind',
    `Alarm ${alarm.id} was closed at ${new Date(alarm.closedAt).toISOString()}; a new signal opens a new alarm.`,
  );
}

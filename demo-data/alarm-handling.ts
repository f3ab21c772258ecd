/** What the people of the demo plant do about an alarm, each step at the time it takes them. */
import type { By } from '../api/monitoring/by.ts';
import type { Monitoring } from '../api/monitoring/monitoring.ts';
import type { AlarmEntrySubmission } from '../api/schemas.ts';
import type { Store } from '../api/store/store.ts';
import type { Agenda } from './agenda.ts';
import { keyedUuid, Substream } from './generator/random.ts';
import { nothingFound, type Response } from './responses.ts';
import { engineerAndQuality, handoverAfter, supervisorAt, whenManned } from './shifts.ts';

const MINUTE = 60_000;
const HOUR = 60 * MINUTE;

/** Shortest and longest time of each step, in minutes. */
const steps = {
  acknowledge: { number: 0, shortest: 3, longest: 25 },
  check: { number: 1, shortest: 8, longest: 20 },
  findCause: { number: 2, shortest: 10, longest: 45 },
  close: { number: 3, shortest: 60, longest: 150 },
} as const;

type DistributiveOmit<T, K extends PropertyKey> = T extends unknown ? Omit<T, K> : never;
type Entry = DistributiveOmit<AlarmEntrySubmission, 'id'>;

interface Handled {
  response: Response;
  entries: number;
  steps: number;
}

interface AlarmHandlingParts {
  readonly monitoring: Monitoring;
  readonly store: Store;
  readonly agenda: Agenda;
  readonly seed: number;
  readonly now: () => number;
  /** The supervisor is away from the board: what would be acknowledged then is acknowledged as much later. */
  readonly away: { readonly from: number; readonly to: number };
}

export interface AlarmHandling {
  /** To be told of every signal that belongs to an alarm, with what people would find behind it. */
  onSignal(alarmId: number, response: Response): void;
}

export function createAlarmHandling(parts: AlarmHandlingParts): AlarmHandling {
  const { monitoring, store, agenda, seed, now, away } = parts;
  const alarms = new Map<number, Handled>();

  /** How long a step takes this time, decided by the alarm and the number of steps before. */
  function timeFor(alarmId: number, step: keyof typeof steps): number {
    const handled = alarms.get(alarmId)!;
    const key = { seed, purpose: 'people', characteristic: handled.steps++, index: alarmId } as const;
    const { number, shortest, longest } = steps[step];
    return Math.round(
      (shortest + (longest - shortest) * new Substream({ ...key, place: number }).uniform()) * MINUTE,
    );
  }

  async function write(alarmId: number, entry: Entry, who: By = supervisorAt(now())): Promise<void> {
    const place = alarms.get(alarmId)!.entries++;
    const id = keyedUuid({ seed, purpose: 'entryId', characteristic: 0, place, index: alarmId });
    await monitoring.addAlarmEntry(alarmId, { ...entry, id }, who);
  }

  function acknowledgeSoon(alarmId: number): number {
    const wanted = now() + timeFor(alarmId, 'acknowledge');
    const isAway = wanted >= away.from && wanted < away.to;
    const at = whenManned(isAway ? away.to + wanted - away.from : wanted);
    agenda.add(at, async () => {
      const alarm = await store.alarm(alarmId);
      if (alarm?.acknowledgedAt === null && alarm.closedAt === null)
        await write(alarmId, { kind: 'acknowledged' });
    });
    return at;
  }

  function respond(alarmId: number, response: Response): void {
    const checkedAt = whenManned(acknowledgeSoon(alarmId) + timeFor(alarmId, 'check'));
    const { interim, decision, decisionText, quarantine } = response;
    if (interim !== undefined)
      agenda.add(checkedAt, () =>
        write(alarmId, { kind: 'decision', decision: 'keep-running', text: interim }),
      );
    const decidedAt = Math.max(checkedAt, response.decidedAt ?? 0);
    agenda.add(decidedAt, () => write(alarmId, { kind: 'decision', decision, text: decisionText }));
    const causeAt = Math.max(
      whenManned(decidedAt + timeFor(alarmId, 'findCause')),
      whenManned(response.causeKnownAt ?? 0),
    );
    agenda.add(causeAt, () => write(alarmId, { kind: 'cause', text: response.cause }));
    agenda.add(causeAt + 2 * MINUTE, () => write(alarmId, { kind: 'action', text: response.action }));
    if (quarantine !== undefined)
      agenda.add(whenManned(causeAt + 30 * MINUTE), async () => {
        const { alarm } = await monitoring.alarm(alarmId);
        const countedParts = alarm.containment.suspectParts;
        await write(alarmId, { kind: 'quarantined', countedParts, text: quarantine });
      });
    const closeAt = whenManned(causeAt + timeFor(alarmId, 'close'));
    agenda.add(response.closesWithShift ? handoverAfter(closeAt) : closeAt, () =>
      closeWhenBack(alarmId, response),
    );
  }

  /** Closed when the process is back and everything is written down; looked at again until then. */
  async function closeWhenBack(alarmId: number, response: Response): Promise<void> {
    const alarm = await store.alarm(alarmId);
    // Another cause has been found meanwhile, and closes it in its time.
    if (alarm === null || alarm.closedAt !== null || alarms.get(alarmId)!.response !== response) return;
    if (alarm.active || alarm.acknowledgedAt === null || alarm.cause === null)
      agenda.add(response.closesWithShift ? handoverAfter(now() + HOUR) : whenManned(now() + HOUR), () =>
        closeWhenBack(alarmId, response),
      );
    else
      await write(alarmId, { kind: 'closed', text: 'Back to normal, cause recorded.' }, engineerAndQuality);
  }

  return {
    onSignal(alarmId, response) {
      const handled = alarms.get(alarmId);
      if (handled && (handled.response === response || response === nothingFound)) {
        acknowledgeSoon(alarmId);
        return;
      }
      if (handled) handled.response = response;
      else alarms.set(alarmId, { response, entries: 0, steps: 0 });
      respond(alarmId, response);
    },
  };
}

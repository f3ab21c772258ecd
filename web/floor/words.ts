/** The words and marks of the board. A state is always a word and a shape, never a colour alone. */
import type {
  Alarm,
  AlarmDecision,
  AlarmEntry,
  AlarmState,
  FloorStream,
  Severity,
} from '../../api/schemas.ts';
import { formatCount } from '../format.ts';

export const alarmStateWords: Record<AlarmState, string> = {
  unacknowledged: 'Nobody has acknowledged',
  acknowledged: 'Acknowledged',
  'returned-to-normal': 'Returned to normal',
  closed: 'Closed',
};

export const decisionWords: Record<AlarmDecision, string> = {
  'keep-running': 'Keep running',
  adjust: 'Adjust',
  'stop-and-quarantine': 'Stop and quarantine',
};

/** What is at stake, the worst first. */
export const severityWords: Record<Severity, string> = {
  safety: 'Safety',
  product: 'Parts outside the drawing',
  process: 'The process has changed',
};

export const entryWords: Record<AlarmEntry['kind'], string> = {
  raised: 'Raised',
  acknowledged: 'Acknowledged',
  decision: 'Decided',
  cause: 'Cause',
  action: 'Action',
  quarantined: 'Fenced off',
  'returned-to-normal': 'Returned to normal',
  'raised-again': 'Raised again',
  'signal-withdrawn': 'Signal withdrawn after a correction',
  shelved: 'Shelved',
  unshelved: 'Back from the shelf',
  closed: 'Closed',
};

export const streamStateWords: Record<FloorStream['state'], { mark: string; word: string; tone: string }> = {
  alarm: { mark: '▲', word: 'Alarm', tone: 'call' },
  signal: { mark: '◇', word: 'Look here', tone: 'ask' },
  late: { mark: '◔', word: 'Late', tone: 'ask' },
  'no-limits': { mark: '□', word: 'No limits yet', tone: 'quiet' },
  steady: { mark: '✓', word: 'Steady', tone: 'fine' },
  'not-charted': { mark: '≡', word: 'Recorded, not charted', tone: 'quiet' },
  idle: { mark: '‖', word: 'Line idle', tone: 'quiet' },
};

/** The condition is gone, but somebody still has to find the cause and close. */
export const alarmOverWords = { mark: '△', word: 'Normal again', tone: 'ask' };

const urgency: Record<AlarmState, number> = {
  unacknowledged: 0,
  acknowledged: 1,
  'returned-to-normal': 2,
  closed: 3,
};

const severityOrder: readonly Severity[] = ['safety', 'product', 'process'];

/** Whoever is needed first comes first, then what is most at stake; among equals the oldest alarm, for its heap of suspect parts grows. */
export function mostUrgentFirst(alarms: readonly Alarm[]): Alarm[] {
  const needs = (alarm: Alarm): number => (alarm.acknowledgedAt === null ? 0 : urgency[alarm.state]);
  const atStake = (alarm: Alarm): number => severityOrder.indexOf(alarm.severity);
  return [...alarms].sort(
    (a, b) =>
      needs(a) - needs(b) ||
      atStake(a) - atStake(b) ||
      Date.parse(a.raisedAt) - Date.parse(b.raisedAt) ||
      a.id - b.id,
  );
}

/** "at least" where no sample before was verified good: the number is only where the counting starts. */
export const suspectCount = ({ suspectParts, lastGoodSampleId }: Alarm['containment']): string =>
  `${lastGoodSampleId === null && suspectParts > 0 ? 'at least ' : ''}${formatCount(suspectParts)}`;

import type { FirstPieceResult, Restart, RestartDetail } from '../../api/schemas.ts';
import { formatCount, formatDate, formatDateTime, formatDuration, formatTime } from '../format.ts';

export const kindWords: Record<Restart['kind'], string> = {
  changeover: 'changeover',
  'tool change': 'tool change',
  regrind: 'regrind',
  adjustment: 'adjustment',
};

/** A mark, a word and a tone, never the colour alone. */
export const resultWords: Record<FirstPieceResult['state'], { mark: string; word: string; tone: string }> = {
  'not-measured': { mark: '○', word: 'Not measured', tone: 'ask' },
  'too-few': { mark: '◔', word: 'Too few pieces', tone: 'ask' },
  'in-doubt': { mark: '?', word: 'In doubt', tone: 'ask' },
  outside: { mark: '▲', word: 'Outside the drawing', tone: 'call' },
  signal: { mark: '◇', word: 'Signal', tone: 'call' },
  good: { mark: '✓', word: 'Good', tone: 'fine' },
};

export const entryWords: Record<RestartDetail['entries'][number]['kind'], string> = {
  stated: 'First piece stated as done',
  approved: 'Approved',
  refused: 'Refused',
  overtaken: 'Overtaken by the next change',
};

/** The day only where it is another one. */
export const shortTime = (time: string, now: number, utcOffsetMinutes: number): string =>
  formatDate(time, utcOffsetMinutes) === formatDate(now, utcOffsetMinutes)
    ? formatTime(time, utcOffsetMinutes)
    : formatDateTime(time, utcOffsetMinutes);

/** "Not approved since 14:05, about 310 parts". */
export function restartHeadline(
  { state, stateAt, unapproved }: Restart,
  now: number,
  utcOffsetMinutes: number,
) {
  const { since, parts } = unapproved;
  const about = `about ${formatCount(parts)} ${parts === 1 ? 'part' : 'parts'}`;
  const from = shortTime(since, now, utcOffsetMinutes);
  if (state === 'approved') return `Approved at ${shortTime(stateAt, now, utcOffsetMinutes)}`;
  if (state === 'overtaken') return `Never approved since ${from}, ${about}`;
  return `Not approved since ${from}, ${about}`;
}

/** What it waits for, and how long the line ran meanwhile. */
export function restartFacts({ state, unapproved }: Restart, stateBy: string): string {
  const ran = `The line ran ${formatDuration(unapproved.runningHours * 3_600_000)} since then.`;
  switch (state) {
    case 'waiting':
      return `${ran} Nobody has stated the first piece yet.`;
    case 'stated':
      return `${ran} ${stateBy} stated the first piece; it waits for an engineer.`;
    case 'refused':
      return `${ran} ${stateBy} refused the first piece; it is measured anew.`;
    default:
      return ran;
  }
}

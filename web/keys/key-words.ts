import type { ApiKey, KeyReach, KeyScope } from '../../api/schemas.ts';
import { formatDateTime } from '../format.ts';

/** What a program may be allowed, in the words of the page. */
export const scopeNames: Record<KeyScope, string> = {
  read: 'Read everything it reaches',
  'enter samples': 'Enter samples',
  'import samples': 'Import files',
  'record events': 'Record events',
  'declare missed samples': 'Say that a sample was missed',
  'read metrics': 'Read how the server fares',
};

/** "line R1, stream C5-R1", or "the whole plant". */
export const reachInWords = (reach: KeyReach | null): string =>
  reach === null
    ? 'the whole plant'
    : [...reach.lines.map((id) => `line ${id}`), ...reach.streams.map((id) => `stream ${id}`)].join(', ');

/** Does it still work? And until when? */
export function stateInWords(key: ApiKey, now: number, utcOffsetMinutes: number): string {
  if (key.revokedAt !== null) return `revoked ${formatDateTime(key.revokedAt, utcOffsetMinutes)}`;
  if (key.expiresAt === null) return 'works until it is revoked';
  const when = formatDateTime(key.expiresAt, utcOffsetMinutes);
  return Date.parse(key.expiresAt) <= now ? `expired ${when}` : `works until ${when}`;
}

/** The end of a day in the plant; null for none. */
export const endOfDay = (day: string, utcOffsetMinutes: number): string | null =>
  day === ''
    ? null
    : new Date(Date.parse(`${day}T00:00:00Z`) + (24 * 60 - utcOffsetMinutes) * 60_000).toISOString();

/** What a key is limited to, as one choice of a list: "", "line R1" or "stream C5-R1". */
export function reachOf(choice: string): KeyReach | null {
  const [kind, id] = choice.split(' ');
  if (id === undefined) return null;
  return kind === 'line' ? { lines: [id], streams: [] } : { lines: [], streams: [id] };
}

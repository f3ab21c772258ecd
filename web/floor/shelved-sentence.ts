import type { Alarm } from '../../api/schemas.ts';
import { formatDateTime } from '../format.ts';
import { peopleById, utcOffsetMinutes } from '../plant.ts';

/** Who has taken an alarm off the list of what calls, until when, and why. */
export function shelvedSentence({ personId, reason, until }: NonNullable<Alarm['shelved']>): string {
  const name = peopleById.value.get(personId)?.name ?? personId;
  return `Shelved by ${name} until ${formatDateTime(until, utcOffsetMinutes.value)}: ${reason}`;
}

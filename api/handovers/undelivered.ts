import { refusedCount } from '../mqtt/refused-measurements.ts';
import { deadCount } from '../notify/deliveries.ts';
import type { OpenMatter } from '../schemas.ts';
import type { Sql } from '../store/sql.ts';
import { matter } from './matter.ts';

const counted = (count: number, what: string): string => `${count} ${what}${count === 1 ? '' : 's'}`;

/** Messages that were given up, and measurements that were not taken in. */
export async function messageMatters(sql: Sql): Promise<OpenMatter[]> {
  const dead = await deadCount(sql);
  const refused = await refusedCount(sql);
  const matters: OpenMatter[] = [];
  if (dead > 0)
    matters.push(
      matter({
        key: 'messages given up',
        title: `${counted(dead, 'message')} could not be delivered`,
        sentence: 'Somebody who should have heard of an alarm may not have.',
        next: 'Tell them by other means, then send again from the page of alarms and messages.',
      }),
    );
  if (refused > 0)
    matters.push(
      matter({
        key: 'measurements not taken in',
        title: `${counted(refused, 'measurement')} from gauges could not be taken in`,
        sentence: 'These values are in no chart.',
        next: 'Mend what is missing, then take them in from the page of alarms and messages.',
      }),
    );
  return matters;
}

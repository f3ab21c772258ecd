/** Who is there, and when. */
import type { By } from '../api/monitoring/by.ts';
import { timeOf } from './generator/calendar.ts';
import { people } from './plant.ts';

const DAY = 24 * 60 * 60_000;

/** Shift 1 until 14:00, shift 2 after it. */
const shiftOf = (at: number): 1 | 2 => (at < timeOf(dayAt(at), '14:00') ? 1 : 2);
const by = (personId: string): By => ({ personId, door: 'demo', how: 'named' });
export const techAt = (at: number): By => by(shiftOf(at) === 1 ? people.tech1.id : people.tech2.id);
export const supervisorAt = (at: number): By =>
  by(shiftOf(at) === 1 ? people.supervisor1.id : people.supervisor2.id);
export const engineer = by(people.engineer.id);
/** What carries two signatures: control limits, and closing an alarm for which parts were set apart. */
export const engineerAndQuality: By = { ...engineer, secondPersonId: people.qualityManager.id };

/** Day, from 1, that a time lies in. */
export const dayAt = (at: number): number => Math.floor((at - timeOf(1, '00:00')) / DAY) + 1;

/** The next moment, from `at` on, at which the plant is manned. */
export function whenManned(at: number): number {
  const day = dayAt(at);
  const idle = day % 7 === 0;
  if (!idle && at < timeOf(day, '06:00')) return timeOf(day, '06:10');
  if (!idle && at <= timeOf(day, '22:00')) return at;
  const next = day + 1;
  return timeOf(next % 7 === 0 ? next + 1 : next, '06:10');
}

/** When the shift that a time lies in hands over. */
export function handoverAfter(at: number): number {
  const manned = whenManned(at);
  const day = dayAt(manned);
  const next = ['13:50', '21:50'].map((time) => timeOf(day, time)).find((time) => time >= manned);
  return next ?? handoverAfter(timeOf(day + 1, '06:00'));
}

import type { PlantModel, RoutingRule, Severity } from '../schemas.ts';
import type { RoutingRecords } from './routing-records.ts';
import { isInShift } from './shift-at.ts';

/** Does the rule tell of an alarm of this line and severity that calls at this time? */
export function fits(
  { active, lineIds, shiftIds, severities }: RoutingRule,
  { shifts }: RoutingRecords,
  { plant }: PlantModel,
  lineId: string,
  severity: Severity,
  at: number,
): boolean {
  if (!active || !severities.includes(severity)) return false;
  if (lineIds.length > 0 && !lineIds.includes(lineId)) return false;
  if (shiftIds.length === 0) return true;
  return shifts.some((shift) => shiftIds.includes(shift.id) && isInShift(shift, at, plant.utcOffsetMinutes));
}

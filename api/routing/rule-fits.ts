import type { PlantModel, RoutingRule, Severity } from '../schemas.ts';
import type { RoutingRecords } from './routing-records.ts';
import { isInShift } from './shift-at.ts';

/** Is the rule for such alarms of this line, at some time? */
export const isFor = (
  { active, lineIds, severities }: RoutingRule,
  lineId: string,
  severity: Severity,
): boolean => active && severities.includes(severity) && (lineIds.length === 0 || lineIds.includes(lineId));

/** Does the rule tell of an alarm of this line and severity that calls at this time? */
export function fits(
  rule: RoutingRule,
  { shifts }: RoutingRecords,
  { plant }: PlantModel,
  lineId: string,
  severity: Severity,
  at: number,
): boolean {
  if (!isFor(rule, lineId, severity)) return false;
  if (rule.shiftIds.length === 0) return true;
  return shifts.some(
    (shift) => rule.shiftIds.includes(shift.id) && isInShift(shift, at, plant.utcOffsetMinutes),
  );
}

import { guardText } from '../imports/text-guard.ts';
import { plantTime } from '../plant-time.ts';
import type { AlarmCall } from './alarm-report.ts';

const header = [
  'called at',
  'alarm',
  'line',
  'stream',
  'part model',
  'shift',
  'severity',
  'acknowledged at',
  'minutes to acknowledge',
  'ended at',
  'minutes standing',
  'what',
];

const quoted = (text: string): string => (/[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text);
const minutes = (from: number, to: number | null): string =>
  to === null ? '' : ((to - from) / 60_000).toFixed(1);

/** One row for each time that an alarm called; times as the plant's clocks show them. */
export function alarmCallsCsv(calls: readonly AlarmCall[], utcOffsetMinutes: number): string {
  const time = (at: number | null): string => (at === null ? '' : plantTime(at, utcOffsetMinutes));
  const rows = calls.map((call) => [
    time(call.calledAt),
    String(call.alarmId),
    call.lineId,
    call.streamId,
    call.modelId,
    call.shiftId ?? '',
    call.severity,
    time(call.acknowledgedAt),
    minutes(call.calledAt, call.acknowledgedAt),
    time(call.endedAt),
    minutes(call.calledAt, call.endedAt),
    call.sentence,
  ]);
  return [header, ...rows]
    .map((row) => `${row.map((cell) => quoted(guardText(cell))).join(',')}\r\n`)
    .join('');
}

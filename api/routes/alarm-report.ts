import type { AppParts } from '../app-parts.ts';
import { type App, type Handle, readQuery } from '../http/handle.ts';
import { validate } from '../http/validate.ts';
import { periodOf } from '../plant-lookup.ts';
import { unacceptable } from '../problem.ts';
import { alarmCalls, alarmReport } from '../routing/alarm-report.ts';
import { alarmCallsCsv } from '../routing/alarm-report-csv.ts';
import { AlarmReportQuery } from '../schemas.ts';
import type { Period } from '../store/store.ts';
import type { Admit } from '../who.ts';

/** Common practice, no source: who is called should be there within ten minutes. */
const USUAL_MINUTES = 10;
const LONGEST_DAYS = 400;

function reportPeriod(from: string, to: string): Period {
  const period = periodOf(from, to);
  if (period.to - period.from <= LONGEST_DAYS * 24 * 3_600_000) return period;
  throw unacceptable('to', `must lie within ${LONGEST_DAYS} days of from`);
}

export function alarmReportRoutes(app: App, handle: Handle, admit: Admit, { store, clock }: AppParts): void {
  handle('GET /api/alarm-report', ({ query: { from, to, withinMinutes = USUAL_MINUTES } }) =>
    alarmReport(store, reportPeriod(from, to), withinMinutes, clock.now()),
  );

  app.get('/api/alarm-report.csv', async (context) => {
    await admit(context.req.raw, 'read');
    const query = readQuery(context, Object.keys(AlarmReportQuery.shape));
    const { from, to } = validate(AlarmReportQuery, query, 'query');
    const calls = await alarmCalls(store, reportPeriod(from, to));
    const { utcOffsetMinutes } = (await store.plantModel()).plant;
    return new Response(alarmCallsCsv(calls, utcOffsetMinutes), {
      headers: {
        'Content-Type': 'text/csv; charset=utf-8; header=present',
        'Content-Disposition': 'attachment; filename="alarms.csv"',
        'Cache-Control': 'no-store',
      },
    });
  });
}

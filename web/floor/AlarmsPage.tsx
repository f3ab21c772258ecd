import { useSignal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import type { AlarmReport } from '../../api/schemas.ts';
import { call } from '../client.ts';
import { serverNow } from '../live.ts';
import { utcOffsetMinutes } from '../plant.ts';
import { fromLocalField, toLocalField } from '../review/period.ts';
import { Field } from '../ui/Field.tsx';
import { ProblemNotice } from '../ui/ProblemNotice.tsx';
import './floor.css';
import { ReportTables } from './ReportTables.tsx';
import { UndeliveredMessages } from './UndeliveredMessages.tsx';

const WEEK = 7 * 86_400_000;

/** How many alarms came and how they were answered, over a period; and what did not leave or come in. */
export default function AlarmsPage() {
  const offset = utcOffsetMinutes.value;
  const from = useSignal(toLocalField(serverNow() - WEEK, offset));
  const to = useSignal('');
  const report = useSignal<AlarmReport | null>(null);
  const problem = useSignal<Error | null>(null);
  const begin = fromLocalField(from.value, offset);
  const end = to.value === '' ? new Date(serverNow()).toISOString() : fromLocalField(to.value, offset);

  const load = async (): Promise<void> => {
    if (begin === null || end === null) return;
    try {
      report.value = await call('GET /api/alarm-report', { query: { from: begin, to: end } });
      problem.value = null;
    } catch (error) {
      problem.value = error as Error;
    }
  };
  useEffect(() => {
    load();
  }, []);

  return (
    <div class="stack">
      <h1>Alarms and messages</h1>
      <form
        class="row"
        onSubmit={(event) => {
          event.preventDefault();
          load();
        }}
      >
        <Field label="From" wrong={begin === null ? 'Choose a time' : null}>
          <input
            type="datetime-local"
            value={from.value}
            onInput={(event) => {
              from.value = event.currentTarget.value;
            }}
          />
        </Field>
        <Field label="To" hint="Empty: until now" wrong={end === null ? 'Choose a time' : null}>
          <input
            type="datetime-local"
            value={to.value}
            onInput={(event) => {
              to.value = event.currentTarget.value;
            }}
          />
        </Field>
        <button type="submit" class="main">
          Show
        </button>
      </form>
      <ProblemNotice error={problem.value} />
      {report.value !== null && <ReportTables report={report.value} />}
      <UndeliveredMessages />
    </div>
  );
}

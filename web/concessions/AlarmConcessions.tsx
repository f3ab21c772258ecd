import { useRef } from 'preact/hooks';
import type { AlarmDetail } from '../../api/schemas.ts';
import { call } from '../client.ts';
import { useKeptFresh } from '../handover/use-kept-fresh.ts';
import { whyNot } from '../permissions.ts';
import { ConcessionCard } from './ConcessionCard.tsx';
import './concessions.css';
import { NewConcession } from './NewConcession.tsx';

/** At an alarm with parts set apart: under which concessions some of them may go, and a new one. */
export function AlarmConcessions({ detail: { alarm, entries } }: { detail: AlarmDetail }) {
  const { value, refresh } = useKeptFresh(() =>
    call('GET /api/concessions', { query: { alarmId: alarm.id } }),
  );
  const form = useRef<HTMLDetailsElement>(null);
  /** Whoever works by keyboard stays where they were. */
  const closeForm = (): void => {
    form.current?.querySelector('summary')?.focus();
    form.current?.removeAttribute('open');
  };
  const counted = entries.some(({ countedParts }) => countedParts !== null && countedParts > 0);
  const found = value.value ?? [];
  if (found.length === 0 && !(counted && whyNot('grant concessions') === null)) return null;
  return (
    <section aria-labelledby="concessions-title">
      <h3 id="concessions-title">Concessions</h3>
      {found.length > 0 && (
        <ul class="concessions">
          {found.map((concession) => (
            <ConcessionCard key={concession.no} concession={concession} changed={refresh} />
          ))}
        </ul>
      )}
      {counted && whyNot('grant concessions') === null && (
        <details ref={form} class="concession-entry">
          <summary>The customer takes parts as they are</summary>
          <NewConcession alarmId={alarm.id} changed={refresh} signed={closeForm} />
        </details>
      )}
    </section>
  );
}

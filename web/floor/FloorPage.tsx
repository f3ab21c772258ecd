import { useSignal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import type { Floor } from '../../api/schemas.ts';
import { call } from '../client.ts';
import { WaitingHandover } from '../handover/WaitingHandover.tsx';
import { onChange } from '../live.ts';
import { loadPlant } from '../plant.ts';
import { ProblemNotice } from '../ui/ProblemNotice.tsx';
import { AlarmCard } from './AlarmCard.tsx';
import { AlarmDialog } from './AlarmDialog.tsx';
import './floor.css';
import { LineBoard } from './LineBoard.tsx';
import { Lookouts } from './Lookouts.tsx';
import { mostUrgentFirst } from './words.ts';

/** Samples arrive in bursts; the board fetches at most this often. */
const QUIET_MILLISECONDS = 250;

const askedAlarm = (): number | null => Number(new URLSearchParams(location.search).get('alarm')) || null;

/** The supervisor's board: alarms first, then every stream of every line. */
export default function FloorPage() {
  const floor = useSignal<Floor | null>(null);
  const problem = useSignal<Error | null>(null);
  const openAlarmId = useSignal<number | null>(askedAlarm());

  useEffect(() => {
    let timer: ReturnType<typeof setTimeout> | null = null;
    let lastFetch = 0;
    const refresh = async () => {
      lastFetch = Date.now();
      try {
        floor.value = await call('GET /api/floor');
        problem.value = null;
      } catch (error) {
        problem.value = error as Error;
      }
    };
    const soon = () => {
      if (timer !== null) return;
      timer = setTimeout(
        () => {
          timer = null;
          refresh();
        },
        Math.max(0, lastFetch + QUIET_MILLISECONDS - Date.now()),
      );
    };
    refresh();
    const stop = onChange((change) => {
      if (change?.kind === 'plant') loadPlant().then(soon, soon);
      else soon();
    });
    // Lateness grows without any message.
    const minute = setInterval(soon, 60_000);
    return () => {
      stop();
      clearInterval(minute);
      if (timer !== null) clearTimeout(timer);
    };
  }, []);

  const show = (alarmId: number | null) => {
    openAlarmId.value = alarmId;
    history.replaceState(null, '', alarmId === null ? location.pathname : `?alarm=${alarmId}`);
  };

  if (floor.value === null) {
    return problem.value === null ? (
      <p role="status">Loading the board…</p>
    ) : (
      <ProblemNotice error={problem.value} />
    );
  }
  const open = mostUrgentFirst(floor.value.alarms);
  const alarms = open.filter(({ shelved }) => shelved === null);
  const shelved = open.filter((alarm) => alarm.shelved !== null);
  const waiting = alarms.filter((alarm) => alarm.acknowledgedAt === null).length;
  const late = floor.value.streams.filter((stream) => stream.state === 'late').length;

  return (
    <div class="floor stack">
      <h1 class="floor-headline" aria-live="polite">
        {headline(alarms.length, waiting, shelved.length, late, floor.value.restarts.length)}
      </h1>
      <ProblemNotice error={problem.value} />
      <Lookouts floor={floor.value} />
      <WaitingHandover />
      {alarms.length > 0 && (
        <section aria-labelledby="alarms-title">
          <h2 id="alarms-title">Open alarms</h2>
          <ul class="alarm-list">
            {alarms.map((alarm) => (
              <AlarmCard key={alarm.id} alarm={alarm} open={() => show(alarm.id)} />
            ))}
          </ul>
        </section>
      )}
      {shelved.length > 0 && (
        <section aria-labelledby="shelved-title">
          <h2 id="shelved-title">Shelved</h2>
          <ul class="alarm-list">
            {shelved.map((alarm) => (
              <AlarmCard key={alarm.id} alarm={alarm} open={() => show(alarm.id)} />
            ))}
          </ul>
        </section>
      )}
      <LineBoard
        streams={floor.value.streams}
        alarms={floor.value.alarms}
        restarts={floor.value.restarts}
        openAlarm={show}
      />
      <p>
        <a href="/handover">Shift handover</a> · <a href="/concessions">Concessions</a> ·{' '}
        <a href="/alarms">How many alarms, how they were answered, and messages</a>
      </p>
      {openAlarmId.value !== null && (
        <AlarmDialog key={openAlarmId.value} alarmId={openAlarmId.value} close={() => show(null)} />
      )}
    </div>
  );
}

function headline(open: number, waiting: number, shelved: number, late: number, unapproved: number): string {
  const alarms = [open === 0 ? 'No open alarm' : `${open} open alarm${open === 1 ? '' : 's'}`]
    .concat(waiting > 0 ? `${waiting} not acknowledged` : [])
    // A shelved alarm calls nobody, and its parts stay suspect: the hall must not read "nothing open" alone.
    .concat(shelved > 0 ? `${shelved} shelved` : [])
    .join(', ');
  return [alarms]
    .concat(late > 0 ? `${late} sample${late === 1 ? '' : 's'} late` : [])
    .concat(unapproved > 0 ? `${unapproved} restart${unapproved === 1 ? '' : 's'} not approved` : [])
    .join('. ');
}

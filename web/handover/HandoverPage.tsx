import { useSignal } from '@preact/signals';
import { call } from '../client.ts';
import { formatDateTime } from '../format.ts';
import { peopleById, plantModel, utcOffsetMinutes } from '../plant.ts';
import { Notice } from '../ui/Notice.tsx';
import { GiveHandover } from './GiveHandover.tsx';
import { HandoverSheet } from './HandoverSheet.tsx';
import './handover.css';
import { useKeptFresh } from './use-kept-fresh.ts';

const stateWords = { waiting: 'waits', taken: 'taken over', withdrawn: 'withdrawn' } as const;
const askedNo = (): number | null => Number(new URLSearchParams(location.search).get('no')) || null;

/** The end of a shift: what is open, signed by the supervisor who goes and by the one who comes. */
export default function HandoverPage() {
  const no = useSignal(askedNo());
  const { value: newest, refresh } = useKeptFresh(() => call('GET /api/handovers', { query: { limit: 20 } }));
  const show = (wanted: number | null): void => {
    no.value = wanted;
    history.replaceState(null, '', wanted === null ? location.pathname : `?no=${wanted}`);
    scrollTo(0, 0);
    refresh();
  };
  const waiting = (newest.value ?? []).filter((one) => one.state === 'waiting' && one.no !== no.value);
  const line = ({ personId, at }: { personId: string; at: string }): string =>
    `${peopleById.value.get(personId)?.name ?? personId}, ${formatDateTime(at, utcOffsetMinutes.value)}`;
  return (
    <div class="handover stack">
      <p class="print-only">{plantModel.value?.plant.name}, shift handover</p>
      {waiting.length > 0 && (
        <div class="no-print">
          <Notice kind="call" title="A handover waits to be taken over">
            <p class="row">
              {waiting.map((one) => (
                <button key={one.no} type="button" onClick={() => show(one.no)}>
                  Read handover {one.no} ({line(one)})
                </button>
              ))}
            </p>
          </Notice>
        </div>
      )}
      {no.value === null ? <GiveHandover given={show} /> : <HandoverSheet key={no.value} no={no.value} />}
      <p class="row no-print">
        {no.value !== null && (
          <button type="button" onClick={() => show(null)}>
            What is open now
          </button>
        )}
        <button type="button" onClick={() => print()}>
          Print
        </button>
        <a class="button" href="/floor">
          Back to Floor
        </a>
        <a class="button" href="/concessions">
          Concessions
        </a>
      </p>
      {newest.value !== null && newest.value.length > 0 && (
        <section class="no-print" aria-labelledby="earlier-title">
          <h2 id="earlier-title">Handovers, the newest first</h2>
          <ul class="earlier-handovers">
            {newest.value.map((one) => (
              <li key={one.no}>
                <button type="button" aria-current={one.no === no.value} onClick={() => show(one.no)}>
                  {one.no}: {line(one)}, {stateWords[one.state]}
                </button>
              </li>
            ))}
          </ul>
        </section>
      )}
      <p class="no-print">
        Runtrue advises; site rules and authorised staff decide, and people release parts.
      </p>
    </div>
  );
}

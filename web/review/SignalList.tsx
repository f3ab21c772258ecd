import { formatDateTime } from '../format.ts';
import { utcOffsetMinutes } from '../plant.ts';
import type { Study } from './study.ts';

/** As many as a person reads; the rest is found with the buttons over the charts. */
const MOST = 60;

/** The signals of the period, by the numbers that stand beside the rings in the charts. */
export function SignalList({ study, choose }: { study: Study; choose: (index: number) => void }) {
  if (study.signals.length === 0) return <p>No rule has fired in this period.</p>;
  const newest = study.signals.slice(-MOST).reverse();
  return (
    <>
      {study.signals.length > MOST && (
        <p>
          {study.signals.length} signals; the newest {MOST} are listed. “Signal before” and “Next signal” over
          the charts visit all of them.
        </p>
      )}
      <ul class="signal-list">
        {newest.map((signal) => (
          <li key={signal.number} class={signal.withdrawn ? 'withdrawn' : ''}>
            <button type="button" onClick={() => choose(signal.index)}>
              Show signal {signal.number}
            </button>
            <span>
              <time>{formatDateTime(study.points[signal.index]!.time, utcOffsetMinutes.value)}</time>{' '}
              {signal.sentence}
              {signal.withdrawn && ' Withdrawn after a correction.'}
            </span>
          </li>
        ))}
      </ul>
    </>
  );
}

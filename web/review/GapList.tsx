import type { Review } from '../../api/schemas.ts';
import { formatCount, formatDateTime } from '../format.ts';
import { utcOffsetMinutes } from '../plant.ts';
import { gapSentence, missingIn } from './gap-line.ts';

/** More lines than these nobody reads; zoom and period show the others. */
const MOST = 60;

/** Samples that the plan asked for and nobody took, and the reasons where somebody gave one. */
export function GapList({ review }: { review: Review }) {
  const { gaps, gapsSince } = review;
  if (gapsSince === null || (review.samples.length === 0 && gaps.length === 0)) return null;
  const since = formatDateTime(gapsSince, utcOffsetMinutes.value);
  const newest = gaps.slice(-MOST).reverse();
  const missing = missingIn(gaps);
  return (
    <section class="panel" aria-labelledby="missing-title">
      <h2 id="missing-title">Missing samples</h2>
      <p>
        {gaps.length === 0 ? (
          <>No planned sample is missing from {since} on.</>
        ) : (
          <>
            <strong>
              {formatCount(missing)} planned {missing === 1 ? 'sample was' : 'samples were'} not taken
            </strong>{' '}
            from {since} on, in {formatCount(gaps.length)} {gaps.length === 1 ? 'gap' : 'gaps'}.
          </>
        )}{' '}
        {Date.parse(gapsSince) > Date.parse(review.from) &&
          'Gaps are looked for over at most 60 days back from the newest sample; before that nobody has looked. '}
        Whichever part model ran counts; nights, idle days and recorded stoppages do not.
      </p>
      {gaps.length > 0 && (
        <ul class="plain">
          {newest.map((gap) => (
            <li key={gap.firstDueAt}>{gapSentence(gap, utcOffsetMinutes.value)}.</li>
          ))}
        </ul>
      )}
      {gaps.length > MOST && <p>The newest {MOST} are listed. Choose a shorter period for others.</p>}
    </section>
  );
}

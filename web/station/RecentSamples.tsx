import type { Characteristic, Sample } from '../../api/schemas.ts';
import { formatNumber, formatTime } from '../format.ts';
import { utcOffsetMinutes } from '../plant.ts';
import { exactNumber } from './names.ts';

/** The last samples of the stream, small, newest first; each can be corrected. */
export function RecentSamples({
  samples,
  characteristic,
  correct,
}: {
  samples: readonly Sample[];
  characteristic: Characteristic;
  correct: (sampleId: string) => void;
}) {
  const newestFirst = [...samples].sort((a, b) => Date.parse(b.takenAt) - Date.parse(a.takenAt)).slice(0, 5);
  if (newestFirst.length === 0) return null;
  return (
    <section class="station-recent" aria-labelledby="recent-title">
      <h2 id="recent-title">Taken last</h2>
      <ul>
        {newestFirst.map((sample) => (
          <li key={sample.id}>
            <span>
              <time dateTime={sample.takenAt}>{formatTime(sample.takenAt, utcOffsetMinutes.value)}</time>{' '}
              {valuesOf(sample, characteristic)}
              {sample.revision > 1 && ' (corrected)'}
            </span>
            <button type="button" class="station-plain" onClick={() => correct(sample.id)}>
              Correct
              <span class="visually-hidden">
                {' '}
                the sample of {formatTime(sample.takenAt, utcOffsetMinutes.value)}
              </span>
            </button>
          </li>
        ))}
      </ul>
    </section>
  );
}

function valuesOf(sample: Sample, { decimals }: Characteristic) {
  if (sample.count !== null) return `${sample.count.nonconforming} of ${sample.count.inspected}`;
  const values = (sample.readings ?? []).map(({ value }) =>
    value === null ? 'left out' : exactNumber(value, decimals),
  );
  return (
    <>
      {sample.mean !== null && values.length > 1 && (
        <strong>mean {formatNumber(sample.mean, decimals + 1)} </strong>
      )}
      {values.join(' · ')}
    </>
  );
}

import type { Characteristic, SampleHistory } from '../../api/schemas.ts';
import { formatDateTime } from '../format.ts';
import { peopleById, utcOffsetMinutes } from '../plant.ts';
import { exactNumber } from './names.ts';

/** Every value that this sample ever had: nothing is overwritten. */
export function Revisions({
  history,
  characteristic,
}: {
  history: SampleHistory;
  characteristic: Characteristic;
}) {
  const revisions = [...history.revisions].sort((a, b) => a.revision - b.revision);
  const newest = revisions.at(-1)?.revision;
  return (
    <section aria-labelledby="revisions-title">
      <h2 id="revisions-title">All values of this sample</h2>
      <ol class="station-revisions">
        {revisions.map((revision) => (
          <li key={revision.revision}>
            <strong>
              {revision.count !== null
                ? `${revision.count.nonconforming} of ${revision.count.inspected}`
                : (revision.readings ?? [])
                    .map(({ value }) =>
                      value === null ? 'left out' : exactNumber(value, characteristic.decimals),
                    )
                    .join(' · ')}
            </strong>
            <br />
            {revision.revision === newest ? 'counts now' : 'stays in the record'},{' '}
            {revision.reason === null ? 'first entered' : `“${revision.reason}”`},{' '}
            {peopleById.value.get(revision.personId)?.name ?? revision.personId},{' '}
            {formatDateTime(revision.at, utcOffsetMinutes.value)}
          </li>
        ))}
      </ol>
    </section>
  );
}

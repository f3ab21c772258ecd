import type { Sample } from '../../api/schemas.ts';
import { formatCount, formatDateTime, formatNumber } from '../format.ts';
import { peopleById, utcOffsetMinutes } from '../plant.ts';
import { Notice } from '../ui/Notice.tsx';

const MOST_ROWS = 300;

/** Counted parts have no chart yet: the page says so and shows what was counted. */
export function CountTable({ samples }: { samples: readonly Sample[] }) {
  const counted = samples.flatMap(({ count, ...sample }) =>
    count === null ? [] : [{ ...sample, ...count }],
  );
  const inspected = counted.reduce((sum, one) => sum + one.inspected, 0);
  const nonconforming = counted.reduce((sum, one) => sum + one.nonconforming, 0);
  return (
    <>
      <Notice kind="quiet" title="Counts have no chart here yet">
        <p>
          They are stored, corrected and exported like every sample, and listed below. No control limits are
          computed for them and no rule watches them.
        </p>
      </Notice>
      <p>
        <strong>
          {formatCount(nonconforming)} nonconforming of {formatCount(inspected)} inspected
        </strong>
        {inspected > 0 && `, ${formatNumber((100 * nonconforming) / inspected, 2)} %`}, in{' '}
        {formatCount(counted.length)} samples.
      </p>
      {/* biome-ignore lint/a11y/noNoninteractiveTabindex: a region that scrolls must be reachable by keyboard */}
      <section class="scroll panel counts" tabIndex={0} aria-label="Counts">
        <table>
          <caption>
            {counted.length > MOST_ROWS ? `Newest ${MOST_ROWS} samples` : 'All samples of the period'}, newest
            first
          </caption>
          <thead>
            <tr>
              <th scope="col">Taken</th>
              <th scope="col" class="number">
                Inspected
              </th>
              <th scope="col" class="number">
                Nonconforming
              </th>
              <th scope="col">Person, lot</th>
              <th scope="col">Note</th>
            </tr>
          </thead>
          <tbody>
            {counted
              .slice(-MOST_ROWS)
              .reverse()
              .map((sample) => (
                <tr key={sample.id}>
                  <th scope="row">{formatDateTime(sample.takenAt, utcOffsetMinutes.value)}</th>
                  <td class="number">{formatCount(sample.inspected)}</td>
                  <td class="number">{formatCount(sample.nonconforming)}</td>
                  <td>
                    {peopleById.value.get(sample.personId)?.name ?? sample.personId}
                    {sample.lot !== null && `, ${sample.lot}`}
                  </td>
                  <td>
                    {sample.note}
                    {sample.revision > 1 && ` (revision ${sample.revision})`}
                  </td>
                </tr>
              ))}
          </tbody>
        </table>
      </section>
    </>
  );
}

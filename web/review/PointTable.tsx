import { useSignal } from '@preact/signals';
import type { Characteristic } from '../../api/schemas.ts';
import type { VisibleRange } from '../charts/visible-range.ts';
import { formatDateTime, formatNumber } from '../format.ts';
import { peopleById, utcOffsetMinutes } from '../plant.ts';
import { betweenLimits } from './between-limits.ts';
import type { Study } from './study.ts';
import { capitalised, chartNames } from './words.ts';

/** More rows than this help nobody; the CSV file carries them all. */
const MOST_ROWS = 300;

/** The charts as a table, for whoever reads rather than sees. Built only when it is opened. */
export function PointTable({
  study,
  range,
  characteristic,
}: {
  study: Study;
  range: VisibleRange;
  characteristic: Characteristic;
}) {
  const open = useSignal(false);
  const names = chartNames[study.kind];
  const first = Math.max(range.first, range.last - MOST_ROWS + 1);
  const value = (one: number | null | undefined): string =>
    formatNumber(one ?? null, characteristic.decimals + 1);
  return (
    <details
      onToggle={(event) => {
        open.value = event.currentTarget.open;
      }}
    >
      <summary>The charts as a table</summary>
      {open.value && (
        // biome-ignore lint/a11y/noNoninteractiveTabindex: a region that scrolls must be reachable by keyboard
        <section class="scroll" tabIndex={0} aria-label="Points of the charts">
          <table>
            <caption>
              {first > range.first
                ? `Newest ${MOST_ROWS} of the ${range.last - range.first + 1} samples shown. Zoom in for others.`
                : 'The samples shown in the charts.'}
            </caption>
            <thead>
              <tr>
                <th scope="col">Taken</th>
                <th scope="col" class="number">
                  n
                </th>
                {[names.locationValue, names.spreadValue].map((name) => [
                  <th key={name} scope="col" class="number">
                    {capitalised(name)}
                  </th>,
                  <th key={`${name} limits`} scope="col" class="number">
                    Control limits of the {name}
                  </th>,
                ])}
                <th scope="col">Values</th>
                <th scope="col">Person, lot</th>
                <th scope="col">Signals</th>
              </tr>
            </thead>
            <tbody>
              {study.points.slice(first, range.last + 1).map((point, place) => (
                <tr key={point.sample.id}>
                  <th scope="row">{formatDateTime(point.time, utcOffsetMinutes.value)}</th>
                  <td class="number">{point.statistics.size}</td>
                  {(['location', 'spread'] as const).map((chart) => [
                    <td key={chart} class="number">
                      {value(point[chart].value)}
                      {point[chart].beyond && ' ◆ outside'}
                    </td>,
                    <td key={`${chart} limits`} class="number">
                      {point[chart].limits === null ? 'none' : betweenLimits(point[chart].limits, value)}
                    </td>,
                  ])}
                  <td>
                    {point.readings.map((one) => formatNumber(one, characteristic.decimals)).join('  ')}
                  </td>
                  <td>
                    {peopleById.value.get(point.sample.personId)?.name ?? point.sample.personId}
                    {point.sample.lot !== null && `, ${point.sample.lot}`}
                  </td>
                  <td>
                    {study.signals
                      .filter((signal) => signal.index === first + place && !signal.withdrawn)
                      .map((signal) => `${signal.number}: ${signal.sentence}`)
                      .join(' ')}
                  </td>
                </tr>
              ))}
            </tbody>
          </table>
        </section>
      )}
    </details>
  );
}

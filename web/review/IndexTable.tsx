import type { Capability, CapabilityIndex } from '../../src/capability/capability.ts';
import { formatCount, formatDate, formatNumber } from '../format.ts';
import { utcOffsetMinutes } from '../plant.ts';
import { asWrittenHere } from './as-written-here.ts';
import type { Assessment } from './assessment.ts';
import type { Study } from './study.ts';

type Row = readonly [
  name: string,
  meaning: string,
  index: CapabilityIndex | null,
  missing?: string | undefined,
];

const notGiven = 'does not exist: it needs a limit or a nominal that the drawing does not give';
const noCpm: Record<NonNullable<Capability['cpmUnavailable']>, string> = {
  'limit-missing': notGiven,
  'no-target': notGiven,
  'target-on-limit':
    'does not exist: the nominal lies on a specification limit, so it is no value for the process to aim at',
};

const boundMethods: Record<CapabilityIndex['method'], string> = {
  'chi-square': 'chi-square',
  'noncentral t': 'noncentral t',
  Bissell: 'normal approximation (Bissell 1990)',
  Heavlin: 'normal approximation (Heavlin 1988)',
  Boyles: 'chi-square approximation (Boyles 1991)',
};

/** The indices with everything that an index must never be without. */
export function IndexTable({ study, assessment }: { study: Study; assessment: Assessment }) {
  const { capability, verdict } = assessment;
  const first = study.points[0];
  const last = study.points.at(-1);
  const warned = verdict.level === 'not-to-be-quoted';
  return (
    <section class="panel" aria-labelledby="indices-title">
      <h2 id="indices-title">Is it good enough?</h2>
      {!capability.available || first === undefined || last === undefined ? (
        <p>{capability.available ? 'The period holds no sample.' : capability.message}</p>
      ) : (
        <>
          {warned && (
            <p>
              <strong>For your own search only.</strong> None of these may be quoted:{' '}
              {asWrittenHere(verdict.reasons.map((one) => one.sentence).join(' '))}
            </p>
          )}
          {/* biome-ignore lint/a11y/noNoninteractiveTabindex: a region that scrolls must be reachable by keyboard */}
          <section class="scroll" tabIndex={0} aria-label="Indices">
            <table class={warned ? 'not-quotable' : ''}>
              <caption>
                Readings from {formatDate(first.time, utcOffsetMinutes.value)} to{' '}
                {formatDate(last.time, utcOffsetMinutes.value)}, n = {formatCount(capability.sampleSize)}
                {warned && ', not to be quoted'}
              </caption>
              <thead>
                <tr>
                  <th scope="col">Index</th>
                  <th scope="col" class="number">
                    Value
                  </th>
                  <th scope="col" class="number">
                    At least, 95 % confidence
                  </th>
                  <th scope="col" class="number">
                    n
                  </th>
                  <th scope="col">Bound by</th>
                </tr>
              </thead>
              <IndexRows
                title="Capability: spread inside samples"
                rows={[
                  ['Cp', 'tolerance over spread', capability.cp],
                  ['Cpl', 'towards the lower limit', capability.cpl],
                  ['Cpu', 'towards the upper limit', capability.cpu],
                  ['Cpk', 'the nearer limit', capability.cpk],
                ]}
              />
              <IndexRows
                title="Performance: spread of all readings of the period"
                rows={[
                  ['Pp', 'tolerance over spread', capability.pp],
                  ['Ppk', 'the nearer limit', capability.ppk],
                  [
                    'Cpm',
                    'spread about the nominal, all readings',
                    capability.cpm,
                    capability.cpmUnavailable === null ? undefined : noCpm[capability.cpmUnavailable],
                  ],
                ]}
              />
            </table>
          </section>
          <Nonconforming capability={capability} nearNormal={assessment.nearNormal} />
        </>
      )}
    </section>
  );
}

function IndexRows({ title, rows }: { title: string; rows: readonly Row[] }) {
  return (
    <tbody>
      <tr>
        <th scope="rowgroup" colSpan={5} class="group">
          {title}
        </th>
      </tr>
      {rows.map(([name, meaning, index, missing = notGiven]) => (
        <tr key={name}>
          <th scope="row">
            {name} <span class="meaning">{meaning}</span>
          </th>
          {index === null ? (
            <td colSpan={4}>{missing}</td>
          ) : (
            <>
              <td class="number">{formatNumber(index.estimate, 2)}</td>
              {/* Rounded down: a bound never looks better than it is. */}
              <td class="number">{formatNumber(Math.floor(index.lowerBound * 100) / 100, 2)}</td>
              <td class="number">{formatCount(index.sampleSize)}</td>
              <td>
                {boundMethods[index.method]}
                {!index.exact && ', approximate'}
              </td>
            </>
          )}
        </tr>
      ))}
    </tbody>
  );
}

/** Parts per million, with as many digits as mean something. */
function perMillion(fraction: number): string {
  const million = fraction * 1e6;
  if (million >= 10) return formatCount(million);
  if (million >= 0.01) return formatNumber(million, 2);
  return million === 0 ? '0' : `less than ${formatNumber(0.01, 2)}`;
}

function Nonconforming({ capability, nearNormal }: { capability: Capability; nearNormal: boolean | null }) {
  const { expectedWithin, expectedOverall, observedBelow, observedAbove, sampleSize } = capability;
  const side = (one: number | null): string => (one === null ? 'no limit' : perMillion(one));
  const rows = [
    ['Expected, spread inside samples', expectedWithin.below, expectedWithin.above, expectedWithin.total],
    ['Expected, spread of all readings', expectedOverall.below, expectedOverall.above, expectedOverall.total],
    [
      'Observed in the readings',
      observedBelow === null ? null : observedBelow / sampleSize,
      observedAbove === null ? null : observedAbove / sampleSize,
      ((observedBelow ?? 0) + (observedAbove ?? 0)) / sampleSize,
    ],
  ] as const;
  return (
    <>
      {/* biome-ignore lint/a11y/noNoninteractiveTabindex: a region that scrolls must be reachable by keyboard */}
      <section class="scroll" tabIndex={0} aria-label="Nonconforming parts">
        <table>
          <caption>Outside the specification, parts per million</caption>
          <thead>
            <tr>
              <td />
              <th scope="col" class="number">
                Below
              </th>
              <th scope="col" class="number">
                Above
              </th>
              <th scope="col" class="number">
                Both
              </th>
            </tr>
          </thead>
          <tbody>
            {rows.map(([name, below, above, total]) => (
              <tr key={name}>
                <th scope="row">{name}</th>
                <td class="number">{side(below)}</td>
                <td class="number">{side(above)}</td>
                <td class="number">{perMillion(total)}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </section>
      <p class="chart-note">
        Expected numbers hold for normal values only
        {nearNormal === false && ', which these are not'}. Observed:{' '}
        {formatCount((observedBelow ?? 0) + (observedAbove ?? 0))} of {formatCount(sampleSize)} readings.
      </p>
    </>
  );
}

import { formatCount, formatDateTime, formatNumber } from '../format.ts';
import { peopleById, utcOffsetMinutes } from '../plant.ts';
import type { StabilityCount } from './assessment.ts';
import { SignalList } from './SignalList.tsx';
import type { Study } from './study.ts';
import { chartNames, ruleWords } from './words.ts';

/** Is it stable? Signals by rule, how many chance alone gives, and who approved the limits that judge. */
export function StabilityPanel({
  study,
  stability,
  chartCannotJudge,
  choose,
}: {
  study: Study;
  stability: StabilityCount | null;
  chartCannotJudge: string | null;
  choose: (index: number) => void;
}) {
  const names = chartNames[study.kind];
  return (
    <section class="panel" aria-labelledby="stability-title">
      <h2 id="stability-title">Is it stable?</h2>
      {chartCannotJudge !== null && (
        <p>
          <strong>This chart cannot judge it.</strong> {chartCannotJudge} The signals below are drawn for your
          own search.
        </p>
      )}
      {stability === null ? (
        <p>No sample of this period was judged by control limits.</p>
      ) : (
        <>
          <p>
            <strong>
              {formatCount(stability.signals)} {stability.signals === 1 ? 'signal' : 'signals'}
            </strong>{' '}
            on {formatCount(stability.points)} samples.{' '}
            {stability.explained > 0 &&
              `${formatCount(stability.explained)} of them ${stability.explained === 1 ? 'belongs' : 'belong'} to closed alarms with a recorded cause; the verdict counts them all the same. `}
            {chartCannotJudge === null &&
              `With nothing wrong, the rules in use give about ${formatNumber(stability.expectedFalseSignals, 1)} signals on the two charts by chance alone (control limits on ${formatNumber(0.27, 2)} % of the points; charts of spread somewhat more).`}
            {stability.withdrawn > 0 &&
              ` ${stability.withdrawn} withdrawn after corrections are not counted.`}
          </p>
          {stability.byRule.length > 0 && (
            <table>
              <caption>Signals by rule</caption>
              <thead>
                <tr>
                  <th scope="col">Chart</th>
                  <th scope="col">Rule</th>
                  <th scope="col" class="number">
                    Signals
                  </th>
                </tr>
              </thead>
              <tbody>
                {stability.byRule.map(({ chart, rule, count }) => (
                  <tr key={`${chart} ${rule}`}>
                    <td>{names[chart]}</td>
                    <td>{ruleWords[rule]}</td>
                    <td class="number">{formatCount(count)}</td>
                  </tr>
                ))}
              </tbody>
            </table>
          )}
        </>
      )}
      <LimitsInUse study={study} />
      <h3>Signals</h3>
      <SignalList study={study} choose={choose} />
    </section>
  );
}

function LimitsInUse({ study }: { study: Study }) {
  if (study.limitsFrom === 'none')
    return <p>There are no control limits, and too little data to compute any.</p>;
  if (study.limitsFrom === 'period')
    return (
      <p>
        <strong>Nobody has frozen control limits yet.</strong> Those drawn (dashed) are computed from the
        period shown, so they cannot show what disturbed all of it.
      </p>
    );
  const used = new Set(study.points.map((point) => point.sample.limitsVersion));
  return (
    <>
      <h3>Limits that judged this period</h3>
      <ul class="plain">
        {used.has(null) && <li>Some samples were taken before any limits were in force.</li>}
        {study.versions
          .filter((version) => used.has(version.version))
          .map((version) => (
            <li key={version.version}>
              <strong>
                Version {version.version}, {version.status}
              </strong>
              , in force from {formatDateTime(version.effectiveFrom, utcOffsetMinutes.value)}, frozen by{' '}
              {peopleById.value.get(version.personId)?.name ?? version.personId}: {version.reason} (
              {version.subgroupsUsed > 0
                ? `from ${formatCount(version.subgroupsUsed)} samples, ${formatCount(version.readingsUsed)} readings`
                : 'from given values'}
              )
            </li>
          ))}
      </ul>
    </>
  );
}

import { useSignal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import type { Characteristic, SampleHistory } from '../../api/schemas.ts';
import type { ControlLimits } from '../../src/charts/control-chart.ts';
import { call } from '../client.ts';
import { formatDateTime, formatNumber } from '../format.ts';
import { peopleById, utcOffsetMinutes } from '../plant.ts';
import { betweenLimits } from './between-limits.ts';
import { eventSentence } from './EventLine.tsx';
import { eventsNear, type Study } from './study.ts';
import { capitalised, chartNames } from './words.ts';

/** Everything that is known about the chosen point. */
export function PointPanel({
  study,
  index,
  characteristic,
}: {
  study: Study;
  index: number | null;
  characteristic: Characteristic;
}) {
  const point = index === null ? undefined : study.points[index];
  if (index === null || point === undefined) {
    return (
      <section class="panel point-panel" aria-labelledby="point-title">
        <h2 id="point-title">Point</h2>
        <p>Choose a point in the charts, or with the arrow keys in the field under them.</p>
      </section>
    );
  }
  const { sample } = point;
  const names = chartNames[study.kind];
  const value = (one: number | null): string => formatNumber(one, characteristic.decimals);
  const computed = (one: number | null): string => formatNumber(one, characteristic.decimals + 1);
  const person = (id: string): string => peopleById.value.get(id)?.name ?? id;
  const signals = study.signals.filter((signal) => signal.index === index);
  const partOf = study.signals.filter(
    (signal) => signal.index !== index && signal.points.includes(index) && !signal.withdrawn,
  );
  const near = eventsNear(study, index);
  const judged = (limits: ControlLimits | null): string =>
    limits === null
      ? 'no control limits'
      : `control limits ${betweenLimits(limits, computed)}, center line ${computed(limits.centerLine)}`;

  return (
    <section class="panel point-panel" aria-labelledby="point-title">
      <h2 id="point-title">
        <time dateTime={sample.takenAt}>{formatDateTime(point.time, utcOffsetMinutes.value)}</time>
      </h2>
      <dl>
        <dt>{capitalised(names.locationValue)}</dt>
        <dd>
          <strong>
            {computed(point.location.value)} {characteristic.unit}
          </strong>
          {point.location.beyond && <strong class="beyond"> ◆ outside</strong>}
          <br />
          {judged(point.location.limits)}
        </dd>
        <dt>{capitalised(names.spreadValue)}</dt>
        <dd>
          <strong>
            {computed(point.spread.value)} {characteristic.unit}
          </strong>
          {point.spread.beyond && <strong class="beyond"> ◆ outside</strong>}
          <br />
          {judged(point.spread.limits)}
        </dd>
        <dt>Values</dt>
        <dd>
          {point.readings.map(value).join('  ')}, n = {point.statistics.size}
        </dd>
        <dt>Taken by</dt>
        <dd>
          {person(sample.personId)}
          {sample.lot !== null && `, lot ${sample.lot}`}
        </dd>
        <dt>Judged by</dt>
        <dd>
          {sample.limitsVersion === null ? 'no frozen limits' : `limits version ${sample.limitsVersion}`}
        </dd>
        {sample.note !== '' && (
          <>
            <dt>Note</dt>
            <dd>{sample.note}</dd>
          </>
        )}
      </dl>

      {signals.length > 0 && (
        <ul class="plain">
          {signals.map((signal) => (
            <li key={signal.number} class={signal.withdrawn ? 'withdrawn' : 'signal'}>
              <strong>Signal {signal.number}</strong>: {signal.sentence}
              {signal.withdrawn && ' Withdrawn: a correction took the ground from under it.'}
            </li>
          ))}
        </ul>
      )}
      {partOf.length > 0 && <p>Part of {partOf.map((signal) => `signal ${signal.number}`).join(', ')}.</p>}
      <FirstValues study={study} index={index} write={value} />
      {sample.revision > 1 && (
        <Corrections key={sample.id} sampleId={sample.id} write={value} person={person} />
      )}
      {near.length > 0 && (
        <>
          <h3>Events near it</h3>
          <ul class="plain">
            {near.map((event) => (
              <li key={event.id}>{eventSentence(event)}</li>
            ))}
          </ul>
        </>
      )}
    </section>
  );
}

type Write = (value: number | null) => string;

/** What was asked at the station, and the value typed first where it was changed. */
function FirstValues({ study, index, write }: { study: Study; index: number; write: Write }) {
  const { sample } = study.points[index]!;
  const changed = (sample.readings ?? []).flatMap((reading, place) =>
    reading.firstValue === undefined
      ? []
      : [
          {
            place,
            text: `Value ${place + 1}: typed first ${write(reading.firstValue)}, then ${write(reading.value)}.`,
          },
        ],
  );
  if (changed.length === 0 && sample.questions.length === 0) return null;
  return (
    <>
      <h3>Asked at the station</h3>
      <ul class="plain">
        {sample.questions.map((question) => (
          <li key={`${question.position} ${question.kind}`}>
            Value {question.position + 1}: {question.sentence}
          </li>
        ))}
        {changed.map(({ place, text }) => (
          <li key={place}>{text}</li>
        ))}
      </ul>
    </>
  );
}

function Corrections({
  sampleId,
  write,
  person,
}: {
  sampleId: string;
  write: Write;
  person: (id: string) => string;
}) {
  const history = useSignal<SampleHistory | null>(null);
  const failed = useSignal('');
  useEffect(() => {
    let current = true;
    call('GET /api/samples/{id}', { params: { id: sampleId } }).then(
      (answer) => {
        if (current) history.value = answer;
      },
      (error: Error) => {
        if (current) failed.value = error.message;
      },
    );
    return () => {
      current = false;
    };
  }, []);
  return (
    <>
      <h3>Corrected</h3>
      {failed.value !== '' && <p>{failed.value}</p>}
      {history.value === null ? (
        failed.value === '' && <p>Loading both values…</p>
      ) : (
        <ol class="plain">
          {history.value.revisions.map((revision) => (
            <li key={revision.revision}>
              <strong>{revision.revision === 1 ? 'First' : `Revision ${revision.revision}`}</strong>:{' '}
              {(revision.readings ?? []).map((reading) => write(reading.value)).join('  ')} (
              {person(revision.personId)}, {formatDateTime(revision.at, utcOffsetMinutes.value)}
              {revision.reason !== null && `, because: ${revision.reason}`})
            </li>
          ))}
        </ol>
      )}
    </>
  );
}

import { useEffect } from 'preact/hooks';
import { formatTime } from '../format.ts';
import type { NewSample } from '../offline/outbox.ts';
import { keptSamples } from '../offline/sample-outbox.ts';
import { utcOffsetMinutes } from '../plant.ts';
import { announce } from './announce.tsx';
import { NextButton } from './NextButton.tsx';

/** No answer: the values are safe here, but nobody has judged them. */
export function NotStoredYet({
  sample,
  nextStreamId,
  goOn,
  toTasks,
}: {
  sample: NewSample;
  nextStreamId: string | null;
  goOn: () => void;
  toTasks: () => void;
}) {
  const kept = keptSamples.value.find((item) => item.submission.id === sample.submission.id);
  const word =
    kept === undefined
      ? 'Stored now: fine'
      : kept.answer !== null
        ? 'Stored now'
        : kept.refusal !== null
          ? 'Not stored'
          : 'Not stored yet';
  useEffect(() => announce(word), [word]);
  return (
    <section
      class={`station-verdict ${kept === undefined ? 'fine' : 'measure-again'}`}
      aria-labelledby="verdict"
    >
      <h1 id="verdict">
        <span aria-hidden="true">{kept === undefined ? '✓ ' : '… '}</span>
        {word}
      </h1>
      <p class="station-sentence">
        {kept === undefined
          ? 'The server has the sample and finds nothing to do.'
          : kept.answer !== null || kept.refusal !== null
            ? 'Read the message above.'
            : 'The server does not answer. The sample is kept on this device and is sent by itself. Until then there is no verdict: if you doubt what you measured, call as if it were bad.'}
      </p>
      <p>
        {sample.title}, {formatTime(sample.submission.takenAt, utcOffsetMinutes.value)}
      </p>
      <div class="station-next">
        <NextButton nextStreamId={nextStreamId} goOn={goOn} toTasks={toTasks} main />
      </div>
    </section>
  );
}

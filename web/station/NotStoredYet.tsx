import { useEffect, useRef } from 'preact/hooks';
import type { SampleSubmission } from '../../api/schemas.ts';
import { formatTime } from '../format.ts';
import { characteristicOf } from '../names.ts';
import type { KeptSample, NewSample } from '../offline/outbox.ts';
import { keptSamples } from '../offline/sample-outbox.ts';
import { plansByStreamId, specificationFor, utcOffsetMinutes } from '../plant.ts';
import { actingPersonId, signInIsOn } from '../session.ts';
import { announce } from './announce.tsx';
import { NextButton } from './NextButton.tsx';
import { outsideDrawing, pieceList } from './outside-drawing.ts';
import { ReactionSteps } from './ReactionSteps.tsx';

/** No answer: the values are safe here, and held against the drawing, but nobody has judged the process. */
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
  const { submission } = sample;
  const kept = keptSamples.value.find((item) => item.submission.id === submission.id);
  /** How it stood last: what was read or thrown away is no longer kept. */
  const last = useRef(kept);
  last.current = kept ?? last.current;
  const state = stateOf(kept, last.current);
  const found = foundHere(submission);
  const bad = found !== null && state !== 'stored' && state !== 'gone';
  const calls = bad && found.calls;
  const word = calls ? `Call: ${words[state].toLowerCase()}` : words[state];
  const signedOut = signInIsOn.value && actingPersonId.value !== sample.personId;
  const sentence = state === 'waiting' && signedOut ? waitsForPerson : sentences[state];
  const looks = state === 'stored' ? 'fine' : calls ? 'call' : 'measure-again';
  useEffect(() => announce(bad ? `${word}. ${found.sentence}` : word), [word]);
  const plan = plansByStreamId.value.get(submission.streamId);
  return (
    <section class={`station-verdict ${looks}`} aria-labelledby="verdict">
      <h1 id="verdict">
        <span aria-hidden="true">{state === 'stored' ? '✓ ' : calls ? '▲ ' : '… '}</span>
        {word}
      </h1>
      {bad && <p class="station-sentence">{found.sentence}</p>}
      <p class={bad ? '' : 'station-sentence'}>
        {sentence}
        {state === 'waiting' &&
          (bad
            ? ' Whether the process has changed nobody has judged yet.'
            : ' Until then there is no verdict: if you doubt what you measured, call as if it were bad.')}
      </p>
      {bad && (
        <ReactionSteps steps={plan?.reactionPlan.steps ?? []} cautions={plan?.reactionPlan.cautions ?? []} />
      )}
      <p>
        {sample.title}, {formatTime(submission.takenAt, utcOffsetMinutes.value)}
      </p>
      <div class="station-next">
        <NextButton nextStreamId={nextStreamId} goOn={goOn} toTasks={toTasks} main />
      </div>
    </section>
  );
}

type State = keyof typeof words;

function stateOf(kept: KeptSample | undefined, last: KeptSample | undefined): State {
  if (kept === undefined && last?.refusal != null) return 'gone';
  if (kept === undefined) return last?.answer == null ? 'stored' : 'read';
  if (kept.answer !== null) return 'answered';
  return kept.refusal !== null ? 'refused' : 'waiting';
}

const words = {
  waiting: 'Not stored yet',
  stored: 'Stored now',
  answered: 'Stored now',
  read: 'Stored now',
  refused: 'Not stored',
  gone: 'No longer waiting',
} as const;

const sentences = {
  waiting: 'The server does not answer. The sample is kept on this device and is sent by itself.',
  stored: 'The server has the sample, and nothing is to be done about it.',
  answered: 'Read the message above.',
  read: 'You have read what the server says of it.',
  refused: 'Read the message above.',
  gone: 'It was sent again, or thrown away.',
} as const;

const waitsForPerson =
  'You are no longer signed in. The sample is kept on this device and is sent as soon as you sign in again.';

/** What the values say by themselves: the drawing is on this device. */
function foundHere({
  streamId,
  modelId,
  readings,
  count,
}: SampleSubmission): { readonly calls: boolean; readonly sentence: string } | null {
  if (count !== undefined) {
    const { nonconforming } = count;
    if (nonconforming === 0) return null;
    const parts = nonconforming === 1 ? 'nonconforming part' : `${nonconforming} nonconforming parts`;
    return { calls: false, sentence: `Set the ${parts} apart and follow the reaction plan.` };
  }
  const characteristic = characteristicOf(streamId);
  const drawing = characteristic && specificationFor(characteristic.id, modelId);
  const outside = outsideDrawing(readings ?? [], drawing);
  if (outside.length === 0) return null;
  return {
    calls: true,
    sentence: `Outside the drawing: ${pieceList(outside)}. Call and set ${outside.length === 1 ? 'it' : 'them'} apart.`,
  };
}

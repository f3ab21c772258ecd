import { useEffect } from 'preact/hooks';
import { streamTitle } from '../names.ts';
import { plansByStreamId } from '../plant.ts';
import { announce } from './announce.tsx';
import { NextButton } from './NextButton.tsx';
import { ReactionSteps } from './ReactionSteps.tsx';

/** Measured again with the same result: the value is no slip of the hand or the gauge. */
export function SameAgain({
  streamId,
  nextStreamId,
  goOn,
  toTasks,
}: {
  streamId: string;
  nextStreamId: string | null;
  goOn: () => void;
  toTasks: () => void;
}) {
  const plan = plansByStreamId.value.get(streamId);
  const sentence =
    'The first values stand, and it is noted that they were measured again. Call, and follow the reaction plan.';
  useEffect(() => announce(`The same again. ${sentence}`), []);
  return (
    <section class="station-verdict call" aria-labelledby="verdict">
      <p class="station-verdict-of">{streamTitle(streamId)}</p>
      <h1 id="verdict">
        <span aria-hidden="true">▲ </span>The same again
      </h1>
      <p class="station-sentence">{sentence}</p>
      <ReactionSteps steps={plan?.reactionPlan.steps ?? []} cautions={plan?.reactionPlan.cautions ?? []} />
      <div class="station-next">
        <NextButton nextStreamId={nextStreamId} goOn={goOn} toTasks={toTasks} main />
      </div>
    </section>
  );
}

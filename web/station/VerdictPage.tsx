import { useSignal } from '@preact/signals';
import { useEffect, useLayoutEffect, useRef } from 'preact/hooks';
import type {
  Characteristic,
  PointLimits,
  SampleAnswer,
  SampleHistory,
  SamplingPlan,
} from '../../api/schemas.ts';
import { call } from '../client.ts';
import { characteristicOf, streamTitle } from '../names.ts';
import { plansByStreamId } from '../plant.ts';
import { verdictWords } from '../ui/verdict-words.ts';
import { announce } from './announce.tsx';
import { NextButton, useDeliberatePress } from './NextButton.tsx';
import { inOwnMark, statisticWithUnit } from './names.ts';
import { pieceList } from './outside-drawing.ts';
import { ReactionSteps } from './ReactionSteps.tsx';
import { Revisions } from './Revisions.tsx';

const shapes = { fine: '✓', 'measure-again': '↻', call: '▲' } as const;

/** What to do now, readable from a distance. */
export function VerdictPage({
  streamId,
  answer,
  enteredAt,
  nextStreamId,
  goOn,
  toTasks,
  correct,
}: {
  streamId: string;
  answer: SampleAnswer;
  enteredAt: number;
  nextStreamId: string | null;
  goOn: () => void;
  toTasks: () => void;
  correct: (measuredAgain: boolean, positions: readonly number[]) => void;
}) {
  const section = useRef<HTMLElement>(null);
  const focused = useRef<HTMLButtonElement>(null);
  const history = useSignal<SampleHistory | null>(null);
  const characteristic = characteristicOf(streamId)!;
  const { verdict, signals, outsideSpecification, questions, alarmId } = answer;
  const unjudged = verdict.level === 'fine' && !verdict.judged;
  const again = verdict.level === 'measure-again';
  const doubtful = [...new Set([...questions.map(({ position }) => position), ...outsideSpecification])];

  useLayoutEffect(() => {
    focused.current?.focus({ preventScroll: true });
    measureUntilPainted(section.current, enteredAt);
  }, []);
  useEffect(() => {
    announce(`${verdictWords(verdict)}. ${inOwnMark(verdict.sentence, characteristic)}`);
    if (answer.revision === 1) return;
    call('GET /api/samples/{id}', { params: { id: answer.sampleId } }).then(
      (read) => {
        history.value = read;
      },
      () => {},
    );
  }, []);
  const measureAgain = useDeliberatePress(() => correct(true, doubtful));
  const againButton = (
    <button type="button" ref={again ? focused : null} class={again ? 'main' : ''} onClick={measureAgain}>
      {characteristic.kind === 'count'
        ? 'Inspect the same parts again'
        : doubtful.length === 1
          ? `Measure piece ${doubtful[0]! + 1} again`
          : 'Measure the same pieces again'}
    </button>
  );

  return (
    <section
      ref={section}
      class={`station-verdict ${unjudged ? 'not-judged' : verdict.level}`}
      data-level={verdict.level}
      aria-labelledby="verdict"
    >
      <p class="station-verdict-of">{streamTitle(streamId)}</p>
      <h1 id="verdict">
        <span aria-hidden="true">{unjudged ? '○' : shapes[verdict.level]} </span>
        {verdictWords(verdict)}
      </h1>
      {/* Says what the first question or signal says; the others follow. */}
      <p class="station-sentence">{inOwnMark(verdict.sentence, characteristic)}</p>
      {questions.slice(1).map((question) => (
        <p key={question.position}>
          Piece {question.position + 1}: {inOwnMark(question.sentence, characteristic)}
        </p>
      ))}
      {outsideSpecification.length > 0 && (
        <p class="station-drawing-word">Outside the drawing: {pieceList(outsideSpecification)}</p>
      )}
      <ReactionSteps steps={verdict.steps} cautions={verdict.cautions} />
      {signals.length > 1 && (
        <>
          <h2>What was seen</h2>
          <ul>
            {signals.map((signal) => (
              <li key={signal.id}>{inOwnMark(signal.sentence, characteristic)}</li>
            ))}
          </ul>
        </>
      )}
      {alarmId !== null && (
        <p>
          <a href={`/floor?alarm=${alarmId}`}>Alarm {alarmId}</a> is on the floor’s board.
        </p>
      )}
      <ProcessFacts answer={answer} streamId={streamId} characteristic={characteristic} />
      {history.value !== null && <Revisions history={history.value} characteristic={characteristic} />}
      <div class="station-next">
        {again && againButton}
        <NextButton nextStreamId={nextStreamId} goOn={goOn} toTasks={toTasks} main={!again} />
        {verdict.level === 'call' && againButton}
        <button type="button" class="station-plain" onClick={() => correct(false, doubtful)}>
          Undo or correct this sample
        </button>
      </div>
    </section>
  );
}

/** What the location and the spread chart of each kind plot. */
const statisticNames: Record<SamplingPlan['chart'], readonly [string, string]> = {
  'mean-range': ['Mean', 'Range'],
  'mean-standard-deviation': ['Mean', 'Standard deviation'],
  'individuals-moving-range': ['Value', 'Moving range'],
  none: ['Mean', 'Spread'],
};

function ProcessFacts({
  answer,
  streamId,
  characteristic,
}: {
  answer: SampleAnswer;
  streamId: string;
  characteristic: Characteristic;
}) {
  const [location, spread] = statisticNames[plansByStreamId.value.get(streamId)?.chart ?? 'none'];
  const fact = (name: string, value: number | null, limits: PointLimits | null) => {
    if (value === null) return null;
    return (
      <div>
        <dt>{name}</dt>
        <dd>
          {statisticWithUnit(value, characteristic)}
          {limits !== null && <> (control limits {controlLimits(limits, characteristic)})</>}
        </dd>
      </div>
    );
  };
  return (
    <dl class="station-process">
      {fact(location, answer.location.value, answer.location.limits)}
      {fact(spread, answer.spread.value, answer.spread.limits)}
    </dl>
  );
}

function controlLimits(
  { lowerControlLimit, upperControlLimit }: PointLimits,
  characteristic: Characteristic,
): string {
  const lower = statisticWithUnit(lowerControlLimit, characteristic);
  const upper = statisticWithUnit(upperControlLimit, characteristic);
  if (lowerControlLimit === null) return `up to ${upper}`;
  return upperControlLimit === null ? `from ${lower}` : `${lower} to ${upper}`;
}

/** From the last Enter to the verdict painted, put where a test and a curious person can read it. */
function measureUntilPainted(section: HTMLElement | null, enteredAt: number): void {
  requestAnimationFrame(() => {
    const { port1, port2 } = new MessageChannel();
    port1.onmessage = () => {
      const { duration } = performance.measure('runtrue-verdict', {
        start: enteredAt,
        end: performance.now(),
      });
      section?.setAttribute('data-verdict-ms', duration.toFixed(1));
      port1.close();
    };
    port2.postMessage(null);
  });
}

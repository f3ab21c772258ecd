import { useRef } from 'preact/hooks';
import type { Characteristic, Specification } from '../../api/schemas.ts';
import { limitPassed } from '../../src/decision/limit-passed.ts';
import type { ValueQuestion } from './entry.ts';
import { exactWithUnit, inOwnMark, roundedWithUnit } from './names.ts';

/** A second Enter that a gauge or a bouncing key sends is no answer. */
const BOUNCE_MILLISECONDS = 350;

/**
 * What is asked about a value, with the choices: to measure again comes first, to take over what the software
 * supposes comes last, because a bad piece must not become a good value by the habit of pressing Enter. Digits typed while the focus is on a choice go into the field,
 * so the next reading of a gauge is never lost and never answers the question by its Enter.
 */
export function QuestionBeside({
  id,
  question,
  value,
  characteristic,
  drawing,
  keep,
  takeSuggestion,
  leaveOut,
  retype,
}: {
  id: string;
  question: ValueQuestion;
  value: number;
  characteristic: Characteristic;
  drawing: Specification | null;
  keep: () => void;
  takeSuggestion: () => void;
  leaveOut: () => void;
  retype: (text: string) => void;
}) {
  const focusedAt = useRef(0);
  const passed = drawing === null ? null : limitPassed(value, drawing);
  const answered = (answer: () => void) => (event: MouseEvent) => {
    // detail 0: pressed by a key.
    if (event.detail === 0 && performance.now() - focusedAt.current < BOUNCE_MILLISECONDS) return;
    answer();
  };
  return (
    // biome-ignore lint/a11y/noStaticElementInteractions: the keys only go on to the field
    <div
      class="station-question"
      onFocusIn={(event) => {
        if (!(event.currentTarget as Element).contains(event.relatedTarget as Node | null))
          focusedAt.current = performance.now();
      }}
      onKeyDown={(event) => {
        if (/^[\d.,+-]$/.test(event.key) && !event.ctrlKey && !event.metaKey && !event.altKey) {
          event.preventDefault();
          retype(event.key);
        }
      }}
    >
      <p id={id}>
        <span aria-hidden="true">? </span>
        {inOwnMark(question.sentence, characteristic)}
      </p>
      {passed !== null && (
        <p class="station-outside">
          {exactWithUnit(value, characteristic)} is outside the drawing:{' '}
          {passed.side === 'above' ? 'at most' : 'at least'} {roundedWithUnit(passed.limit, characteristic)}
        </p>
      )}
      <div class="station-answers">
        <button type="button" onClick={answered(() => retype(''))}>
          Measure this piece again
        </button>
        <button type="button" onClick={answered(keep)}>
          Keep {exactWithUnit(value, characteristic)}
        </button>
        <button type="button" class="station-plain" onClick={answered(leaveOut)}>
          Leave this piece out
        </button>
        {question.suggestion !== null && (
          <button type="button" class="station-plain" onClick={answered(takeSuggestion)}>
            Change to {exactWithUnit(question.suggestion, characteristic)}
          </button>
        )}
      </div>
      <p class="station-hint">
        What the gauge shows when you measure again can be typed at once. Enter goes to the choices, Tab from
        one to the next. Whatever you choose, both values stay in the record.
      </p>
    </div>
  );
}

import { useRef } from 'preact/hooks';
import type { Characteristic } from '../../api/schemas.ts';
import type { ValueQuestion } from './entry.ts';
import { exactWithUnit, inOwnMark } from './names.ts';

/** A second Enter that a gauge or a bouncing key sends is no answer. */
const BOUNCE_MILLISECONDS = 350;

/**
 * What is asked about a value, with the choices. Digits typed while the focus is on a choice go into the field,
 * so the next reading of a gauge is never lost and never answers the question by its Enter.
 */
export function QuestionBeside({
  id,
  question,
  value,
  characteristic,
  keep,
  takeSuggestion,
  leaveOut,
  retype,
}: {
  id: string;
  question: ValueQuestion;
  value: number;
  characteristic: Characteristic;
  keep: () => void;
  takeSuggestion: () => void;
  leaveOut: () => void;
  retype: (text: string) => void;
}) {
  const focusedAt = useRef(0);
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
      <div class="station-answers">
        <button type="button" onClick={answered(keep)}>
          Keep {exactWithUnit(value, characteristic)}
        </button>
        {question.suggestion !== null && (
          <button type="button" onClick={answered(takeSuggestion)}>
            Change to {exactWithUnit(question.suggestion, characteristic)}
          </button>
        )}
        <button type="button" class="station-plain" onClick={answered(leaveOut)}>
          Leave this piece out
        </button>
      </div>
      <p class="station-hint">
        Or measure again and type what it shows. Enter goes to the choices, Tab from one to the next. Whatever
        you choose, both values stay in the record.
      </p>
    </div>
  );
}

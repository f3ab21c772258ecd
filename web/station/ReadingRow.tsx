import { useId } from 'preact/hooks';
import type { Characteristic, Specification } from '../../api/schemas.ts';
import type { EntryField } from './entry.ts';
import { keypadShown } from './keypad-choice.ts';
import { exactWithUnit } from './names.ts';
import { QuestionBeside } from './QuestionBeside.tsx';

/** One piece: its field, the value as it was understood, and what is asked or wrong about it. */
export function ReadingRow({
  index,
  field,
  text,
  active,
  entered,
  characteristic,
  drawing,
  wrong,
  inputRef,
  focused,
  type,
  enter,
  back,
  keep,
  takeSuggestion,
  leaveOut,
  retype,
}: {
  index: number;
  field: EntryField;
  text: string;
  active: boolean;
  /** The text in the field is what was entered. */
  entered: boolean;
  characteristic: Characteristic;
  drawing: Specification | null;
  wrong: string | null;
  inputRef: (input: HTMLInputElement | null) => void;
  focused: () => void;
  type: (text: string) => void;
  enter: () => void;
  back: () => void;
  keep: () => void;
  takeSuggestion: () => void;
  leaveOut: () => void;
  retype: (text: string) => void;
}) {
  const id = useId();
  const described = [
    wrong === null ? '' : `${id}-wrong`,
    field.question === null ? '' : `${id}-question`,
    `${id}-state`,
  ].filter(Boolean);
  return (
    <li class={`station-reading ${field.state} ${active ? 'active' : ''}`}>
      <label for={id}>
        Piece {index + 1}
        {characteristic.unit !== '1' && <span class="visually-hidden">, in {characteristic.unit}</span>}
      </label>
      <span class="station-box">
        <input
          id={id}
          ref={inputRef}
          type="text"
          inputMode={keypadShown.value ? 'none' : 'decimal'}
          autoComplete="off"
          enterKeyHint="next"
          aria-invalid={wrong === null ? undefined : 'true'}
          aria-describedby={described.join(' ')}
          value={text}
          onFocus={focused}
          onInput={(event) => type(event.currentTarget.value)}
          onKeyDown={(event) => {
            if (event.key === 'Enter') {
              event.preventDefault();
              if (!event.repeat) enter();
            } else if (event.key === 'Backspace' && event.currentTarget.value === '' && !event.repeat) {
              event.preventDefault();
              back();
            }
          }}
        />
        {characteristic.unit !== '1' && <span aria-hidden="true">{characteristic.unit}</span>}
      </span>
      <span class="station-understood" id={`${id}-state`}>
        {understood(field, entered, characteristic)}
      </span>
      {/* A phone's keyboard for numbers may have no Enter. */}
      {active && field.state !== 'asked' && (
        <span class="station-actions">
          {!entered && !keypadShown.value && (
            <button
              type="button"
              class="main"
              onMouseDown={(event) => event.preventDefault()}
              onClick={enter}
            >
              Enter<span class="visually-hidden"> piece {index + 1}</span>
            </button>
          )}
          <button type="button" class="station-plain" onClick={leaveOut}>
            Leave out<span class="visually-hidden"> piece {index + 1}: it cannot be measured</span>
          </button>
        </span>
      )}
      {wrong !== null && (
        <p class="station-wrong" id={`${id}-wrong`} role="alert">
          {wrong}
        </p>
      )}
      {field.question !== null && field.value !== null && (
        <QuestionBeside
          id={`${id}-question`}
          question={field.question}
          value={field.value}
          characteristic={characteristic}
          drawing={drawing}
          keep={keep}
          takeSuggestion={takeSuggestion}
          leaveOut={leaveOut}
          retype={retype}
        />
      )}
    </li>
  );
}

function understood(field: EntryField, entered: boolean, characteristic: Characteristic) {
  if (field.state === 'asked') return <span>? see below</span>;
  if (!entered) return keypadShown.value ? <span class="station-hint">Enter takes it</span> : null;
  if (field.state === 'empty') return null;
  return (
    <>
      <span>
        <span aria-hidden="true">✓ </span>
        {field.value === null ? 'left out' : exactWithUnit(field.value, characteristic)}
      </span>
      {field.firstValue !== null && field.firstValue !== field.value && (
        <span class="station-hint">first {exactWithUnit(field.firstValue, characteristic)}</span>
      )}
      {field.decided?.decision === 'kept' && <span class="station-hint">kept after a question</span>}
    </>
  );
}

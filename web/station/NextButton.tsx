import { useEffect, useLayoutEffect, useRef } from 'preact/hooks';
import { streamTitle } from '../names.ts';

/** The Enter that ended the sample, sent twice by a gauge or a tired finger, must not wipe the verdict away. */
const BOUNCE_MILLISECONDS = 600;

/** A handler that does not hear a key pressed too soon after this screen appeared. */
export function useDeliberatePress(act: () => void): (event: MouseEvent) => void {
  const shownAt = useRef(0);
  useEffect(() => {
    shownAt.current = performance.now();
  }, []);
  return (event) => {
    // detail 0: pressed by a key.
    if (event.detail === 0 && performance.now() - shownAt.current < BOUNCE_MILLISECONDS) return;
    act();
  };
}

/** On to the next sample that is due, or to the list. */
export function NextButton({
  nextStreamId,
  goOn,
  toTasks,
  main,
}: {
  nextStreamId: string | null;
  goOn: () => void;
  toTasks: () => void;
  /** Enter goes on: the button has the focus. */
  main: boolean;
}) {
  const button = useRef<HTMLButtonElement>(null);
  const press = useDeliberatePress(goOn);
  useLayoutEffect(() => {
    if (main) button.current?.focus({ preventScroll: true });
  }, []);
  return (
    <>
      <button type="button" ref={button} class={main ? 'main' : ''} onClick={press}>
        {nextStreamId === null ? 'Go on to the list' : `Next: ${streamTitle(nextStreamId)}`}
      </button>
      {nextStreamId !== null && (
        <button type="button" onClick={toTasks}>
          To the list
        </button>
      )}
    </>
  );
}

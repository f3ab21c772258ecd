import { signal } from '@preact/signals';

const said = signal('');
let clearing: ReturnType<typeof setTimeout> | undefined;

/** Says something to a screen reader at once. It is gone again before anybody reads it as part of the page. */
export function announce(text: string): void {
  said.value = text;
  clearTimeout(clearing);
  clearing = setTimeout(() => {
    said.value = '';
  }, 3_000);
}

/** One region that stays in the page: messages put in later are spoken reliably. */
export function Announcer() {
  return (
    <div class="visually-hidden" aria-live="assertive">
      {said.value}
    </div>
  );
}

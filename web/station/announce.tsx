import { signal } from '@preact/signals';

const said = signal('');

/** Says something to a screen reader at once. */
export function announce(text: string): void {
  said.value = text;
}

/** One region that stays in the page: messages put in later are spoken reliably. */
export function Announcer() {
  return (
    <div class="visually-hidden" aria-live="assertive">
      {said.value}
    </div>
  );
}

import { effect, signal } from '@preact/signals';

const storageKey = 'runtrue.keypad';
const remembered = localStorage.getItem(storageKey);

/** Whether the large keypad is on the screen; at first, where fingers are the pointer. */
export const keypadShown = signal(
  remembered === null ? matchMedia('(pointer: coarse)').matches : remembered === 'shown',
);
let first = true;
effect(() => {
  const word = keypadShown.value ? 'shown' : 'hidden';
  if (!first) localStorage.setItem(storageKey, word);
  first = false;
});

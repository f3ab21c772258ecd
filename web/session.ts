/** Who is here, as far as this page knows, and how numbers are written here. */
import { computed, effect, signal } from '@preact/signals';
import type { Session } from '../api/schemas.ts';

/** The device's memory; null where the browser forbids it, and then choices last as long as the page. */
function deviceMemory(): Storage | null {
  try {
    return globalThis.localStorage ?? null;
  } catch {
    return null;
  }
}

function remembered<T extends string>(key: string, fallback: T | null) {
  const memory = deviceMemory();
  const value = signal<T | null>((memory?.getItem(key) as T | null | undefined) ?? fallback);
  effect(() => {
    if (value.value === null) memory?.removeItem(key);
    else memory?.setItem(key, value.value);
  });
  return value;
}

/** What the server says about this browser; null until it has been asked. */
export const session = signal<Session | null>(null);
export const signInIsOn = computed(() => session.value?.signIn === 'on');
/** Somebody has signed in, or this browser stands at a registered station, or nobody has to. */
export const mayRead = computed(
  () => session.value !== null && (!signInIsOn.value || session.value.may.includes('read')),
);
/** Counts answers that say that nobody is signed in any more: the session is then read anew. */
export const doubts = signal(0);

/** With sign-in the one who is signed in; without, whoever was chosen here. */
export const actingPersonId = remembered<string>('runtrue.person', null);
/** Set to true to ask who is here; the dialog in the masthead opens. */
export const askingWho = signal(false);

/** true when somebody is named; else asks, and the person presses again. */
export function personIsNamed(): boolean {
  if (actingPersonId.value !== null) return true;
  askingWho.value = true;
  return false;
}

export const chosenStationId = remembered<string>('runtrue.station', null);

const localMark = (1.5).toLocaleString().includes(',') ? ',' : '.';
export const decimalMark = remembered<',' | '.'>('runtrue.decimal-mark', localMark);

/** Who is at this station, and how numbers are written here. Real sign-in will replace the first half. */
import { effect, signal } from '@preact/signals';

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

export const actingPersonId = remembered<string>('runtrue.person', null);
/** Set to true to ask who is here; the picker in the masthead opens. */
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

/** Keeps what this page knows of its session in step with the server. */
import { effect } from '@preact/signals';
import { call } from '../client.ts';
import { actingPersonId, chosenStationId, doubts, session, signInIsOn } from '../session.ts';

const MINUTE = 60_000;
/** setTimeout takes no more. */
const LONGEST_TIMER = 2 ** 31 - 1;

export async function loadSession(): Promise<void> {
  const found = await call('GET /api/session');
  if (found.signIn === 'on') actingPersonId.value = found.person?.id ?? null;
  // From then on a person may look at another station from here.
  const registeredNow = found.stationId !== (session.value?.stationId ?? null);
  if (registeredNow && found.stationId !== null) chosenStationId.value = found.stationId;
  session.value = found;
}

const loadQuietly = (): void => {
  loadSession().catch(() => {});
};

/** Reads the session anew when an answer doubts it and when it ends; tells the server that a person is at work. */
export function watchSession(): void {
  effect(() => {
    if (doubts.value === 0) return;
    loadQuietly();
  });
  effect(() => {
    const endsAt = session.value?.endsAt;
    if (endsAt == null) return;
    const timer = setTimeout(loadQuietly, Math.min(LONGEST_TIMER, Date.parse(endsAt) - Date.now() + 500));
    return () => clearTimeout(timer);
  });
  let toldAt = Date.now();
  const atWork = (): void => {
    if (!signInIsOn.value || session.value?.person == null || Date.now() - toldAt < MINUTE) return;
    toldAt = Date.now();
    call('POST /api/session/use').then(loadQuietly, () => {});
  };
  for (const event of ['pointerdown', 'keydown']) addEventListener(event, atWork, { passive: true });
  // Somebody may have ended this session from elsewhere.
  setInterval(() => {
    if (signInIsOn.value && document.visibilityState === 'visible') loadQuietly();
  }, MINUTE);
  // Another page of this browser may have signed somebody in or out.
  addEventListener('focus', () => {
    if (signInIsOn.value) loadQuietly();
  });
}

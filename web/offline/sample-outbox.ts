/** The outbox of this device: kept in localStorage, sent again when the server is back. */
import { effect, signal } from '@preact/signals';
import { fetchAnswer, Refusal } from '../client.ts';
import { connected } from '../live.ts';
import { actingPersonId, mayRead, session, signInIsOn } from '../session.ts';
import { createOutbox, type Delivery, type KeptSample, type NewSample } from './outbox.ts';

const RETRY_MILLISECONDS = 5_000;
/** A dead network can leave a request hanging for minutes; the same id makes a second sending harmless. */
const PATIENCE_MILLISECONDS = 10_000;

export const keptSamples = signal<readonly KeptSample[]>([]);

export const outbox = createOutbox({
  storage: localStorage,
  send,
  now: Date.now,
  maySend: (personId) => mayRead.value && (!signInIsOn.value || personId === actingPersonId.value),
  changed: () => {
    keptSamples.value = outbox.kept();
  },
});
keptSamples.value = outbox.kept();

async function send({ submission, personId }: NewSample): Promise<Delivery> {
  try {
    const response = await fetchAnswer('/api/samples', {
      method: 'POST',
      headers: { 'Content-Type': 'application/json', 'Runtrue-Person': personId },
      body: JSON.stringify(submission),
      signal: AbortSignal.timeout(PATIENCE_MILLISECONDS),
    });
    return { kind: 'stored', answer: await response.json() };
  } catch (error) {
    if (error instanceof Refusal && !passesByItself(error.problem.status))
      return { kind: 'refused', problem: error.problem };
    return { kind: 'waiting' };
  }
}

/**
 * The server's own trouble, or too much at once: says nothing about the sample. Neither does a session that has ended:
 * the sample waits until its person signs in again.
 */
const passesByItself = (status: number): boolean =>
  status >= 500 || status === 408 || status === 429 || (status === 401 && session.value?.signIn !== 'off');

const sendAll = () => {
  outbox.sendWaiting();
};
sendAll();
setInterval(sendAll, RETRY_MILLISECONDS);
addEventListener('online', sendAll);
effect(() => {
  const somebody = actingPersonId.value !== null || !signInIsOn.value;
  if (connected.value && mayRead.value && somebody) sendAll();
});

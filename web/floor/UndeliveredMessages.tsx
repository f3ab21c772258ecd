import { useSignal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import type { Deliveries, RefusedMeasurement } from '../../api/schemas.ts';
import { call } from '../client.ts';
import { formatDateTime } from '../format.ts';
import { utcOffsetMinutes } from '../plant.ts';
import { personIsNamed } from '../session.ts';
import { ProblemNotice } from '../ui/ProblemNotice.tsx';

/** Messages that were given up and measurements that were refused, each with why and a way to try again. */
export function UndeliveredMessages() {
  const dead = useSignal<Deliveries | null>(null);
  const refused = useSignal<RefusedMeasurement[]>([]);
  const problem = useSignal<Error | null>(null);
  const said = useSignal('');

  const load = async (): Promise<void> => {
    try {
      dead.value = await call('GET /api/deliveries', { query: { state: 'dead' } });
      refused.value = await call('GET /api/refused-measurements', { query: {} });
    } catch (error) {
      problem.value = error as Error;
    }
  };
  useEffect(() => {
    load();
  }, []);

  const again = async (work: () => Promise<unknown>, done: string): Promise<void> => {
    if (!personIsNamed()) return;
    try {
      await work();
      problem.value = null;
      said.value = done;
    } catch (error) {
      problem.value = error as Error;
    }
    await load();
  };

  if (dead.value === null) return <ProblemNotice error={problem.value} />;
  const { counts, deliveries } = dead.value;
  const time = (at: string): string => formatDateTime(at, utcOffsetMinutes.value);
  return (
    <section id="messages" class="stack" aria-labelledby="messages-title">
      <h2 id="messages-title">Messages</h2>
      <p role="status">
        {counts.dead === 0 ? 'None given up' : `${counts.dead} given up`}, {counts.waiting} waiting.{' '}
        {said.value}
      </p>
      <ProblemNotice error={problem.value} />
      {deliveries.length > 0 && (
        <ul class="plain-list">
          {deliveries.map(({ id, subject, door, recipientId, topic, createdAt, attempts, problem: why }) => (
            <li key={id} class="panel">
              <p>
                <strong>{subject}</strong>, {time(createdAt)}, by {door} to {recipientId ?? topic}. Given up
                after {attempts} attempt{attempts === 1 ? '' : 's'}: {why}
              </p>
              <button
                type="button"
                onClick={() =>
                  again(
                    () => call('POST /api/deliveries/{id}/again', { params: { id } }),
                    'The message is on its way again.',
                  )
                }
              >
                Send again
                <span class="visually-hidden"> {subject}</span>
              </button>
            </li>
          ))}
        </ul>
      )}
      {refused.value.length > 0 && <h3>Measurements by MQTT that were not taken in</h3>}
      {refused.value.length > 0 && (
        <ul class="plain-list">
          {refused.value.map(({ id, at, topic, payload, problem: why }) => (
            <li key={id} class="panel">
              <p>
                {time(at)}, {topic}: <strong>{why.detail}</strong>
              </p>
              <details>
                <summary>What was sent</summary>
                <pre class="scroll">{payload.slice(0, 2000)}</pre>
              </details>
              <button
                type="button"
                onClick={() =>
                  again(
                    () => call('POST /api/refused-measurements/{id}/again', { params: { id } }),
                    'The measurement is taken in.',
                  )
                }
              >
                Take it in now
                <span class="visually-hidden"> {id}</span>
              </button>
            </li>
          ))}
        </ul>
      )}
    </section>
  );
}

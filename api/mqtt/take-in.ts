import type { Clock } from '../clock.ts';
import { parseJson } from '../http/parse-json.ts';
import { validate } from '../http/validate.ts';
import type { WriteKey } from '../idempotency/idempotency.ts';
import type { By } from '../monitoring/by.ts';
import type { Monitoring } from '../monitoring/monitoring.ts';
import { addDelivery } from '../notify/deliveries.ts';
import { notAllowed, roleMay } from '../permissions.ts';
import { ProblemError, unknown } from '../problem.ts';
import { type Problem, SampleSubmission } from '../schemas.ts';
import type { Store } from '../store/store.ts';
import { keepRefused } from './refused-measurements.ts';
import { topicsOf } from './topics.ts';

/** Longer than any sample can be. */
const MOST_BYTES = 64 * 1024;

export interface Taking {
  readonly store: Store;
  readonly monitoring: Monitoring;
  readonly clock: Clock;
  readonly topicPrefix: string;
}

/** The person that the topic names, if that person may enter samples. */
async function senderOf(store: Store, personId: string): Promise<By> {
  const { people } = await store.plantModel();
  const person = people.find(({ id }) => id === personId);
  if (person === undefined) throw unknown('person', personId, 'topic');
  if (!roleMay(person.role, 'enter samples')) throw notAllowed('enter samples', person);
  return { personId, door: 'mqtt', how: 'named' };
}

function readText(payload: Uint8Array): string {
  if (payload.byteLength > MOST_BYTES) {
    throw new ProblemError(413, 'Too large', `A sample may have ${MOST_BYTES} bytes; this has more.`, [
      { field: 'payload', message: `must have ${MOST_BYTES} bytes at most` },
    ]);
  }
  try {
    return new TextDecoder('utf-8', { fatal: true }).decode(payload);
  } catch {
    throw new ProblemError(400, 'Not readable', 'The payload is not UTF-8 text; send JSON in UTF-8.', [
      { field: 'payload', message: 'must be JSON in UTF-8' },
    ]);
  }
}

/** A measurement takes the same path as through every other door. Resolves when it is durable. `key`: done once. */
export async function acceptMeasurement(
  { store, monitoring }: Pick<Taking, 'store' | 'monitoring'>,
  personId: string,
  payload: Uint8Array,
  key?: WriteKey,
): Promise<void> {
  const by = { ...(await senderOf(store, personId)), key };
  const submission = validate(SampleSubmission, parseJson(readText(payload)), 'body');
  await monitoring.accept(submission, by);
}

/**
 * Takes a message in: either its sample is durable when this resolves, or its refusal is, with the answer to who
 * sent it. Rejects where neither could be stored.
 */
export async function takeIn(
  parts: Taking,
  topic: string,
  payload: Uint8Array,
): Promise<'accepted' | 'refused'> {
  const personId = topicsOf(parts.topicPrefix).personOf(topic) ?? '';
  try {
    await acceptMeasurement(parts, personId, payload);
    return 'accepted';
  } catch (error) {
    if (!(error instanceof ProblemError) || error.problem.status >= 500) throw error;
    await refuse(parts, topic, payload, error.problem);
    return 'refused';
  }
}

/** Keeps the message with the problem, and answers on the topic for refusals. */
export async function refuse(
  { store, clock, topicPrefix }: Taking,
  topic: string,
  payload: Uint8Array,
  problem: Problem,
): Promise<void> {
  const topics = topicsOf(topicPrefix);
  const personId = topics.personOf(topic) ?? '';
  const at = clock.now();
  // What is no text is shown as such; no database keeps NUL in a text.
  const text = new TextDecoder().decode(payload).replaceAll('\0', '\ufffd');
  await store.transaction(async ({ sql }) => {
    await keepRefused(sql, { at, topic, personId, payload: text, problem });
    const answer = { at: new Date(at).toISOString(), topic, sampleId: sampleIdIn(text), problem };
    await addDelivery(
      sql,
      {
        door: 'mqtt',
        recipientId: null,
        topic: topics.refused(personId),
        subject: 'A measurement was refused',
        body: JSON.stringify(answer),
      },
      at,
    );
  }, []);
}

/** The id that the sender knows its message by, where it can be read. */
function sampleIdIn(text: string): string | null {
  try {
    const { id } = JSON.parse(text);
    return typeof id === 'string' ? id.slice(0, 100) : null;
  } catch {
    return null;
  }
}

/**
 * Samples that the server has not confirmed. Each is written to the device before it is sent and leaves it only
 * after the server's answer, so a dead network, a reload or a flat battery loses nothing. The sample keeps its id,
 * so sending it again stores it once. One storage key a sample: two open pages cannot overwrite each other's.
 */
import type { Problem, SampleAnswer, SampleSubmission } from '../../api/schemas.ts';

export interface KeptSample {
  readonly submission: SampleSubmission;
  /** Who entered it: whoever stands at the station when it is sent again is not asked to sign for it. */
  readonly personId: string;
  /** What it is, in words that need no plant model to be read. */
  readonly title: string;
  readonly keptAt: number;
  /** The server answered that it cannot take the sample as it stands. Sent again only when a person says so. */
  readonly refusal: Problem | null;
  /** Stored after all, with a verdict that nobody has read yet. */
  readonly answer: SampleAnswer | null;
}

export type NewSample = Pick<KeptSample, 'submission' | 'personId' | 'title'>;

export type Delivery =
  | { readonly kind: 'stored'; readonly answer: SampleAnswer }
  | { readonly kind: 'refused'; readonly problem: Problem }
  | { readonly kind: 'waiting' };

interface OutboxParts {
  readonly storage: Pick<Storage, 'getItem' | 'setItem' | 'removeItem' | 'key' | 'length'>;
  /** Sends one sample. 'waiting' means: no usable answer, it may or may not have arrived. Never throws. */
  readonly send: (sample: NewSample) => Promise<Delivery>;
  readonly now: () => number;
  /** Whether it can be signed now: not while somebody else, or nobody, is signed in. */
  readonly maySend: (personId: string) => boolean;
  /** Called whenever what is kept has changed. */
  readonly changed: () => void;
}

export interface Outbox {
  /** Keeps and sends. The same id while it is on its way is not sent twice. */
  submit(sample: NewSample): Promise<Delivery>;
  /** Sends what waits, oldest first; stops at the first that gets no answer. */
  sendWaiting(): Promise<void>;
  /** Sends a refused sample once more. */
  sendAgain(sampleId: string): Promise<Delivery>;
  /** Takes a refused sample or a verdict that was read off the device. */
  remove(sampleId: string): void;
  /** Oldest first, without those whose first sending is still on its way. */
  kept(): readonly KeptSample[];
}

const prefix = 'runtrue.outbox.';

export function createOutbox({ storage, send, now, maySend, changed }: OutboxParts): Outbox {
  const onTheWay = new Map<string, Promise<Delivery>>();
  /** Kept in memory as well: storage may be full or forbidden, and the page must still try to send. */
  const samples = new Map<string, KeptSample>();
  const onDevice = new Set<string>();
  const firstSending = new Set<string>();

  function read(): void {
    for (let index = 0; index < storage.length; index++) {
      const key = storage.key(index);
      if (key === null || !key.startsWith(prefix)) continue;
      const sample = parse(storage.getItem(key));
      if (sample === null) continue;
      onDevice.add(sample.submission.id);
      if (!samples.has(sample.submission.id)) samples.set(sample.submission.id, sample);
    }
  }

  function keep(sample: KeptSample): void {
    samples.set(sample.submission.id, sample);
    try {
      storage.setItem(prefix + sample.submission.id, JSON.stringify(sample));
      onDevice.add(sample.submission.id);
    } catch {
      // No room on the device: the copy in memory lasts as long as this page.
    }
  }

  /** What another open page has delivered is no longer on the device. */
  function forgetDelivered(): void {
    for (const id of [...samples.keys()])
      if (onDevice.has(id) && storage.getItem(prefix + id) === null) samples.delete(id);
  }

  function remove(sampleId: string): void {
    samples.delete(sampleId);
    storage.removeItem(prefix + sampleId);
    changed();
  }

  /** `atHand`: the person still has the values before them, and reads the answer now. */
  function deliver(sample: KeptSample, atHand: boolean): Promise<Delivery> {
    const { id } = sample.submission;
    const running = onTheWay.get(id);
    if (running !== undefined) return running;
    const delivery = send(sample).then((result) => {
      onTheWay.delete(id);
      firstSending.delete(id);
      if (result.kind === 'waiting') keep({ ...sample, refusal: null });
      else if (atHand || (result.kind === 'stored' && isNothingToDo(result.answer))) remove(id);
      else if (result.kind === 'refused') keep({ ...sample, refusal: result.problem });
      else keep({ ...sample, refusal: null, answer: result.answer });
      changed();
      return result;
    });
    onTheWay.set(id, delivery);
    return delivery;
  }

  read();

  return {
    submit(sample) {
      const { id } = sample.submission;
      const running = onTheWay.get(id);
      if (running !== undefined) return running;
      const kept = {
        submission: sample.submission,
        personId: sample.personId,
        title: sample.title,
        keptAt: now(),
        refusal: null,
        answer: null,
      };
      keep(kept);
      firstSending.add(id);
      return deliver(kept, true);
    },
    async sendWaiting() {
      forgetDelivered();
      read();
      for (const sample of oldestFirst(samples.values())) {
        if (sample.refusal !== null || sample.answer !== null || !maySend(sample.personId)) continue;
        if ((await deliver(sample, false)).kind === 'waiting') return;
      }
    },
    sendAgain(sampleId) {
      const sample = samples.get(sampleId);
      if (sample === undefined) return Promise.resolve({ kind: 'waiting' });
      return deliver({ ...sample, refusal: null }, false);
    },
    remove,
    kept: () => oldestFirst(samples.values()).filter(({ submission }) => !firstSending.has(submission.id)),
  };
}

const isNothingToDo = ({ verdict }: SampleAnswer) => verdict.level === 'fine' && verdict.steps.length === 0;

const oldestFirst = (samples: Iterable<KeptSample>): KeptSample[] =>
  [...samples].sort((a, b) => Date.parse(a.submission.takenAt) - Date.parse(b.submission.takenAt));

function parse(text: string | null): KeptSample | null {
  if (text === null) return null;
  try {
    const sample = JSON.parse(text);
    return typeof sample?.submission?.id === 'string' ? sample : null;
  } catch {
    return null;
  }
}

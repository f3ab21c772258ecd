import { useSignal } from '@preact/signals';
import { useEffect, useRef } from 'preact/hooks';
import { formatDateTime, formatNumber } from '../format.ts';
import { characteristicsById, peopleById, streamsById, utcOffsetMinutes } from '../plant.ts';
import { actingPersonId, signInIsOn } from '../session.ts';
import { Notice } from '../ui/Notice.tsx';
import { verdictWords } from '../ui/verdict-words.ts';
import './offline.css';
import type { KeptSample } from './outbox.ts';
import { keptSamples, outbox } from './sample-outbox.ts';

/** So long it is said that waiting samples are stored and need nothing. */
const STORED_NOTE_MILLISECONDS = 20_000;

/** Samples on this device that the server has not confirmed, and verdicts that came later than their sample. */
export function WaitingSamples() {
  const waiting = keptSamples.value.filter((kept) => kept.refusal === null && kept.answer === null);
  const others = keptSamples.value.filter((kept) => kept.refusal !== null || kept.answer !== null);
  const storedNow = useStoredNow(waiting);
  return (
    <div class="waiting-samples stack">
      {storedNow.length > 0 && (
        <Notice
          kind="fine"
          title={`Stored now, nothing more to do: ${storedNow.length === 1 ? describe(storedNow[0]!) : `${storedNow.length} samples`}`}
        />
      )}
      {waiting.length > 0 && (
        <Notice kind="ask" title={`Not stored yet: kept on this device, ${waiting.length} waiting`}>
          <p>{whatItWaitsFor(waiting)} Do not type it again.</p>
          <details>
            <summary>What is waiting</summary>
            <ul>
              {waiting.map((kept) => (
                <li key={kept.submission.id}>{describe(kept)}</li>
              ))}
            </ul>
          </details>
        </Notice>
      )}
      {others.map((kept) => (
        <LateNews key={kept.submission.id} kept={kept} />
      ))}
    </div>
  );
}

/** The server, or the people who entered it: nobody else signs for them. */
function whatItWaitsFor(waiting: readonly KeptSample[]): string {
  const absent = new Set(
    waiting.map(({ personId }) => personId).filter((id) => signInIsOn.value && id !== actingPersonId.value),
  );
  if (absent.size === 0) return 'All of it is sent as soon as the server answers.';
  const names = [...absent].map((id) => peopleById.value.get(id)?.name ?? id).join(', ');
  return `It is sent as soon as whoever entered it signs in again: ${names}.`;
}

/** Samples that waited and have left the device without a message to read. */
function useStoredNow(waiting: readonly KeptSample[]): readonly KeptSample[] {
  const storedNow = useSignal<readonly KeptSample[]>([]);
  const waited = useRef(waiting);
  useEffect(() => {
    const kept = new Set(keptSamples.value.map(({ submission }) => submission.id));
    const gone = waited.current.filter(({ submission }) => !kept.has(submission.id));
    waited.current = waiting;
    if (gone.length > 0) storedNow.value = [...storedNow.value, ...gone];
  }, [keptSamples.value]);
  useEffect(() => {
    if (storedNow.value.length === 0) return;
    const timer = setTimeout(() => {
      storedNow.value = [];
    }, STORED_NOTE_MILLISECONDS);
    return () => clearTimeout(timer);
  }, [storedNow.value]);
  return storedNow.value;
}

function LateNews({ kept }: { kept: KeptSample }) {
  const { answer, refusal, submission } = kept;
  const seen = () => outbox.remove(submission.id);
  if (answer !== null) {
    const { verdict } = answer;
    return (
      <Notice
        kind={verdict.level === 'call' ? 'call' : 'ask'}
        title={`Stored now, ${verdictWords(verdict).toLowerCase()}: ${describe(kept)}`}
        live="assertive"
      >
        <p>{verdict.sentence}</p>
        {verdict.steps.length > 0 && (
          <ol>
            {verdict.steps.map((step) => (
              <li key={step}>{step}</li>
            ))}
          </ol>
        )}
        {verdict.cautions.map((caution) => (
          <p key={caution}>
            <strong>Caution:</strong> {caution}
          </p>
        ))}
        <button type="button" onClick={seen}>
          I have read this
        </button>
      </Notice>
    );
  }
  return (
    <Notice kind="call" title={`Not stored: ${describe(kept)}`} live="assertive">
      <p>The server says: {refusal?.detail}</p>
      {(refusal?.errors.length ?? 0) > 0 && (
        <ul>
          {refusal?.errors.map((error) => (
            <li key={error.field}>
              <strong>{error.field}</strong>: {error.message}
            </li>
          ))}
        </ul>
      )}
      <p>The values stay on this device until you choose.</p>
      <div class="row">
        <button type="button" onClick={() => outbox.sendAgain(submission.id)}>
          Send again
        </button>
        <button
          type="button"
          onClick={() => {
            if (confirm('Throw these values away? They are stored nowhere else.')) seen();
          }}
        >
          Throw away
        </button>
      </div>
    </Notice>
  );
}

function describe({ submission, title }: KeptSample): string {
  const stream = streamsById.value.get(submission.streamId);
  const decimals = (stream && characteristicsById.value.get(stream.characteristicId)?.decimals) ?? 3;
  const values = submission.count
    ? `${submission.count.nonconforming} of ${submission.count.inspected}`
    : (submission.readings ?? []).map(({ value }) => formatNumber(value, decimals)).join(' · ');
  return `${title}, ${formatDateTime(submission.takenAt, utcOffsetMinutes.value)}: ${values}`;
}

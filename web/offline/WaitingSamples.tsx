import { formatDateTime, formatNumber } from '../format.ts';
import { characteristicsById, streamsById, utcOffsetMinutes } from '../plant.ts';
import { Notice } from '../ui/Notice.tsx';
import { levelWords } from '../ui/verdict-words.ts';
import './offline.css';
import type { KeptSample } from './outbox.ts';
import { keptSamples, outbox } from './sample-outbox.ts';

/** Samples on this device that the server has not confirmed, and verdicts that came later than their sample. */
export function WaitingSamples() {
  const waiting = keptSamples.value.filter((kept) => kept.refusal === null && kept.answer === null);
  const others = keptSamples.value.filter((kept) => kept.refusal !== null || kept.answer !== null);
  return (
    <div class="waiting-samples stack">
      {waiting.length > 0 && (
        <Notice kind="ask" title={`Not stored yet: kept on this device, ${waiting.length} waiting`}>
          <p>All of it is sent as soon as the server answers. Do not type it again.</p>
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

function LateNews({ kept }: { kept: KeptSample }) {
  const { answer, refusal, submission } = kept;
  const seen = () => outbox.remove(submission.id);
  if (answer !== null) {
    const { verdict } = answer;
    return (
      <Notice
        kind={verdict.level === 'call' ? 'call' : 'ask'}
        title={`Stored now, ${levelWords[verdict.level].toLowerCase()}: ${describe(kept)}`}
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

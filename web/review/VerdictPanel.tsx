import { Notice } from '../ui/Notice.tsx';
import { asWrittenHere } from './as-written-here.ts';
import type { Assessment } from './assessment.ts';
import { headline } from './headline.ts';
import type { Study } from './study.ts';

/** The answer first: stable or not, shape, good enough or not, what to do next and why. */
export function VerdictPanel({ study, assessment }: { study: Study; assessment: Assessment | null }) {
  if (assessment === null) {
    return (
      <section class="verdict" aria-label="Verdict">
        <Notice kind="quiet" title="Working it out…" />
      </section>
    );
  }
  const { kind, sentence, reasons, nextStep } = headline(study, assessment);
  return (
    <section class="verdict" aria-label="Verdict">
      <Notice kind={kind} title={asWrittenHere(sentence)}>
        <p>
          <strong>Next:</strong> {asWrittenHere(nextStep)}
        </p>
        {reasons.length > 0 && (
          <ul>
            {reasons.map((reason) => (
              <li key={reason}>{asWrittenHere(reason)}</li>
            ))}
          </ul>
        )}
      </Notice>
    </section>
  );
}

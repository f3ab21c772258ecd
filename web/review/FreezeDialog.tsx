import { useSignal } from '@preact/signals';
import { useEffect, useMemo, useRef } from 'preact/hooks';
import type { Characteristic, LimitsRequest, SamplingPlan, Specification } from '../../api/schemas.ts';
import type { ControlLimits } from '../../src/charts/control-chart.ts';
import { call } from '../client.ts';
import { formatCount, formatDateTime, formatNumber } from '../format.ts';
import { serverNow } from '../live.ts';
import { utcOffsetMinutes } from '../plant.ts';
import { personIsNamed } from '../session.ts';
import { noSignature, SecondSigner, secondSignerFields, signatureFrom } from '../sign-in/SecondSigner.tsx';
import { Field } from '../ui/Field.tsx';
import { Notice } from '../ui/Notice.tsx';
import { ProblemNotice, wrongAt } from '../ui/ProblemNotice.tsx';
import { betweenLimits } from './between-limits.ts';
import { estimationMethods } from './estimation-methods.ts';
import { judgedAnewSentence, MOST_COUNTED } from './judged-anew.ts';
import { limitsAgainstSpecification } from './limits-against-specification.ts';
import { fromLocalField, toLocalField } from './period.ts';
import type { Study } from './study.ts';
import { type BaselineMethod, type ChangedSignal, type TrialLimits, trialLimits } from './trial-limits.ts';
import { chartNames } from './words.ts';

const shownFields = [
  'status',
  'effectiveFrom',
  'reason',
  'source.method',
  'signalsExplained',
  ...secondSignerFields,
];

/** Freezes control limits from the chosen period, with the old ones beside them, and a reason. */
export function FreezeDialog({
  study,
  characteristic,
  specification,
  plan,
  modelId,
  close,
}: {
  study: Study;
  characteristic: Characteristic;
  specification: Specification | null;
  plan: SamplingPlan;
  modelId: string;
  close: () => void;
}) {
  const dialog = useRef<HTMLDialogElement>(null);
  const methods = estimationMethods[study.kind];
  const method = useSignal<BaselineMethod>(methods[0].name);
  const status = useSignal<'trial' | 'approved'>('trial');
  const effectiveFrom = useSignal(toLocalField(serverNow(), utcOffsetMinutes.value));
  const reason = useSignal('');
  const explained = useSignal(false);
  const signature = useSignal(noSignature);
  const busy = useSignal(false);
  const problem = useSignal<Error | null>(null);
  const outcome = useMemo(() => trialLimits(study, method.value, plan), [study, method.value]);

  useEffect(() => {
    dialog.current?.showModal();
  }, []);

  const first = study.points[0];
  const last = study.points.at(-1);
  const effective = fromLocalField(effectiveFrom.value, utcOffsetMinutes.value);
  const doubts = outcome.available ? outcome.trial.toExplain : [];
  const unexplained = wrongAt(problem.value, 'signalsExplained');
  const mustExplain = status.value === 'approved' && (doubts.length > 0 || unexplained !== null);
  const newest = outcome.available ? outcome.trial.old?.version : undefined;
  const pending = newest !== undefined && Date.parse(newest.effectiveFrom) > serverNow() ? newest : undefined;

  const submit = async (): Promise<void> => {
    if (busy.value || effective === null || first === undefined || last === undefined) return;
    if (!personIsNamed()) return;
    busy.value = true;
    const body: LimitsRequest = {
      streamId: plan.streamId,
      modelId,
      status: status.value,
      source: {
        kind: 'baseline',
        from: first.sample.takenAt,
        to: last.sample.takenAt,
        method: method.value,
      },
      effectiveFrom: effective,
      reason: reason.value.trim(),
      signalsExplained: mustExplain && explained.value,
      ...signatureFrom(signature.value),
    };
    try {
      await call('POST /api/limits', { body });
      dialog.current?.close();
    } catch (error) {
      problem.value = error as Error;
    } finally {
      busy.value = false;
    }
  };

  return (
    <dialog ref={dialog} class="freeze-dialog" aria-labelledby="freeze-title" onClose={close}>
      <form
        class="stack"
        onSubmit={(event) => {
          event.preventDefault();
          submit();
        }}
      >
        <h2 id="freeze-title">Freeze control limits</h2>
        <p>
          From the {formatCount(study.points.length)} samples of the chosen period
          {first !== undefined &&
            last !== undefined &&
            `, ${formatDateTime(first.time, utcOffsetMinutes.value)} to ${formatDateTime(last.time, utcOffsetMinutes.value)}`}
          . Frozen limits are never changed: a new version takes over from the time below, and samples taken
          since then are judged anew by it.
        </p>
        {pending !== undefined && (
          <p>
            Version {pending.version} has not begun yet: it waits for{' '}
            {formatDateTime(pending.effectiveFrom, utcOffsetMinutes.value)}. A new version that begins earlier
            takes its place.
          </p>
        )}
        {methods.length > 1 && (
          <Field
            label="Standard deviation within samples from the"
            wrong={wrongAt(problem.value, 'source.method')}
          >
            <select
              value={method.value}
              onChange={(event) => {
                method.value = event.currentTarget.value as BaselineMethod;
                // Other limits, other signals: what was confirmed was of those before.
                explained.value = false;
              }}
            >
              {methods.map((one) => (
                <option key={one.name} value={one.name}>
                  {one.words}
                </option>
              ))}
            </select>
          </Field>
        )}
        {outcome.available ? (
          <>
            <Comparison trial={outcome.trial} study={study} characteristic={characteristic} plan={plan} />
            <BeyondSpecification
              limits={outcome.trial.location}
              study={study}
              characteristic={characteristic}
              specification={specification}
            />
          </>
        ) : (
          <Notice kind="call" title="No limits from this period">
            <p>{outcome.message}</p>
          </Notice>
        )}
        {doubts.length > 0 && (
          <Notice kind="ask" title={`This period holds ${doubts.length === 1 ? 'a signal' : 'signals'}`}>
            <p>
              Limits from a disturbed period hide the disturbance. Leave the disturbed samples out by choosing
              another period, or explain each of them in the reason.
            </p>
            <SignalNames signals={doubts} study={study} />
          </Notice>
        )}
        <fieldset>
          <legend>These limits are</legend>
          <label class="choice">
            <input
              type="radio"
              name="status"
              checked={status.value === 'trial'}
              onChange={() => {
                status.value = 'trial';
              }}
            />{' '}
            trial: watched until more samples confirm them
          </label>
          <label class="choice">
            <input
              type="radio"
              name="status"
              checked={status.value === 'approved'}
              onChange={() => {
                status.value = 'approved';
              }}
            />{' '}
            approved: the process is known and was undisturbed
          </label>
          {wrongAt(problem.value, 'status') && (
            <p class="wrong-status" role="alert">
              {wrongAt(problem.value, 'status')}
            </p>
          )}
          {mustExplain && (
            <label class="choice">
              <input
                type="checkbox"
                checked={explained.value}
                onChange={(event) => {
                  explained.value = event.currentTarget.checked;
                }}
              />{' '}
              Each signal named above has a known cause or was looked into, and the reason says so.
            </label>
          )}
          {unexplained !== null && (
            <p class="wrong-status" role="alert">
              {unexplained}
            </p>
          )}
        </fieldset>
        <Field
          label="In force from (plant time)"
          wrong={effective === null ? 'Give a date and a time.' : wrongAt(problem.value, 'effectiveFrom')}
        >
          <input
            type="datetime-local"
            value={effectiveFrom.value}
            onInput={(event) => {
              effectiveFrom.value = event.currentTarget.value;
            }}
          />
        </Field>
        <JudgedAnew streamId={plan.streamId} modelId={modelId} from={effective} />
        <Field
          label="Reason"
          hint="Why this period, and why now? Whoever reads it in two years was not here."
          wrong={wrongAt(problem.value, 'reason')}
        >
          <textarea
            rows={3}
            value={reason.value}
            onInput={(event) => {
              reason.value = event.currentTarget.value;
            }}
          />
        </Field>
        <SecondSigner
          what="new control limits"
          why="Limits decide what counts as a signal, so a second person looks at them and signs as well."
          typed={signature.value}
          problem={problem.value}
          change={(next) => {
            signature.value = next;
          }}
        />
        <ProblemNotice error={problem.value} shownFields={shownFields} />
        <div class="row">
          <button
            type="submit"
            class="main"
            disabled={
              busy.value ||
              !outcome.available ||
              effective === null ||
              reason.value.trim() === '' ||
              (mustExplain && !explained.value)
            }
          >
            Freeze {status.value} limits
          </button>
          <button type="button" onClick={() => dialog.current?.close()}>
            Leave the limits as they are
          </button>
        </div>
      </form>
    </dialog>
  );
}

function Comparison({
  trial,
  study,
  characteristic,
  plan,
}: {
  trial: TrialLimits;
  study: Study;
  characteristic: Characteristic;
  plan: SamplingPlan;
}) {
  const value = (one: number | null | undefined): string =>
    one === undefined ? '–' : formatNumber(one, characteristic.decimals + 1);
  const between = (limits: ControlLimits | null | undefined): string =>
    limits ? betweenLimits(limits, value) : '–';
  const names = chartNames[study.kind];
  const { old } = trial;
  const rows = [
    ['Mean', value(old?.standard.mean), value(trial.standard.mean)],
    [
      'Standard deviation within samples',
      formatNumber(old?.standard.withinSubgroupStandardDeviation ?? null, characteristic.decimals + 2),
      formatNumber(trial.standard.withinSubgroupStandardDeviation, characteristic.decimals + 2),
    ],
    [`Control limits of the ${names.locationValue}`, between(old?.location), between(trial.location)],
    [`Control limits of the ${names.spreadValue}`, between(old?.spread), between(trial.spread)],
    ['Samples used', old ? formatCount(old.version.subgroupsUsed) : '–', formatCount(trial.subgroupsUsed)],
    ['Readings used', old ? formatCount(old.version.readingsUsed) : '–', formatCount(trial.readingsUsed)],
  ];
  return (
    <>
      {/* biome-ignore lint/a11y/noNoninteractiveTabindex: a region that scrolls must be reachable by keyboard */}
      <section class="scroll" tabIndex={0} aria-label="Old and new limits">
        <table>
          <caption>
            For samples of {trial.sampleSize}, in {characteristic.unit}
          </caption>
          <thead>
            <tr>
              <td />
              <th scope="col" class="number">
                {old === null ? 'Nothing frozen' : `Version ${old.version.version}, ${old.version.status}`}
              </th>
              <th scope="col" class="number">
                New
              </th>
            </tr>
          </thead>
          <tbody>
            {rows.map(([name, before, after]) => (
              <tr key={name}>
                <th scope="row">{name}</th>
                <td class="number">{before}</td>
                <td class="number">{after}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </section>
      {plan.meanLimitsFrom === 'moving-range-of-means' && (
        <p>Limits for its means come from the moving range of the means. {plan.remark}</p>
      )}
      {old !== null && (
        <div>
          <p>
            {trial.silenced.length === 0 && trial.added.length === 0
              ? 'In this period the new limits would have raised the same signals.'
              : `In this period the new limits would have silenced ${formatCount(trial.silenced.length)} of the recorded signals and raised ${formatCount(trial.added.length)} others.`}
          </p>
          {trial.silenced.length > 0 && (
            <details>
              <summary>Silenced signals</summary>
              <SignalNames signals={trial.silenced} study={study} />
            </details>
          )}
        </div>
      )}
    </>
  );
}

/** Control limits beyond the drawing are allowed, but nobody should freeze them unawares. */
function BeyondSpecification({
  limits,
  study,
  characteristic,
  specification,
}: {
  limits: ControlLimits | null;
  study: Study;
  characteristic: Characteristic;
  specification: Specification | null;
}) {
  if (limits === null || specification === null) return null;
  const sentences = limitsAgainstSpecification(
    limits,
    specification,
    chartNames[study.kind].locationValue,
    (value) => `${formatNumber(value, characteristic.decimals + 1)} ${characteristic.unit}`,
  );
  if (sentences.length === 0) return null;
  return (
    <Notice kind="call" title="Control limits beyond the specification">
      {sentences.map((sentence) => (
        <p key={sentence}>{sentence}</p>
      ))}
      <p>
        Watch the drawing apart, and find out first whether the period was disturbed or the process is not
        capable.
      </p>
    </Notice>
  );
}

/** A person who types a time changes it digit by digit. */
const TYPING_PAUSE_MS = 300;

/** What limits from a time in the past do to the samples since. */
function JudgedAnew({ streamId, modelId, from }: { streamId: string; modelId: string; from: string | null }) {
  const sentence = useSignal<string | null>(null);
  useEffect(() => {
    sentence.value = null;
    if (from === null || Date.parse(from) > serverNow()) return;
    let stale = false;
    const timer = setTimeout(async () => {
      try {
        const query = { streamId, modelId, from, limit: MOST_COUNTED };
        const found = judgedAnewSentence(await call('GET /api/review', { query }));
        if (!stale) sentence.value = found;
      } catch (error) {
        if (stale) return;
        sentence.value = `Samples taken since then would be judged anew; how many could not be counted: ${(error as Error).message}`;
      }
    }, TYPING_PAUSE_MS);
    return () => {
      stale = true;
      clearTimeout(timer);
    };
  }, [streamId, modelId, from]);
  if (sentence.value === null) return null;
  return (
    <Notice kind="ask" title="The past is judged anew">
      <p>{sentence.value} What open alarms have set apart stays set apart.</p>
    </Notice>
  );
}

const MOST_NAMED = 8;

function SignalNames({ signals, study }: { signals: readonly ChangedSignal[]; study: Study }) {
  return (
    <ul>
      {signals.slice(0, MOST_NAMED).map((signal) => (
        <li key={`${signal.index} ${signal.sentence}`}>
          {formatDateTime(study.points[signal.index]!.time, utcOffsetMinutes.value)} {signal.sentence}
        </li>
      ))}
      {signals.length > MOST_NAMED && <li>and {formatCount(signals.length - MOST_NAMED)} more</li>}
    </ul>
  );
}

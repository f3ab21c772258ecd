import { useSignal } from '@preact/signals';
import { useEffect, useRef } from 'preact/hooks';
import type { FirstPieceResult, RestartDetail } from '../../api/schemas.ts';
import { call } from '../client.ts';
import { formatNumber } from '../format.ts';
import { onChange, tickingNow } from '../live.ts';
import { characteristicOf, modelName, streamTitle } from '../names.ts';
import { newId } from '../new-id.ts';
import { whyNot } from '../permissions.ts';
import { linesById, peopleById, stationsById, streamsById, utcOffsetMinutes } from '../plant.ts';
import { personIsNamed } from '../session.ts';
import { Field } from '../ui/Field.tsx';
import { Notice } from '../ui/Notice.tsx';
import { ProblemNotice, wrongAt } from '../ui/ProblemNotice.tsx';
import {
  entryWords,
  kindWords,
  restartFacts,
  restartHeadline,
  resultWords,
  shortTime,
} from './restart-words.ts';

/** One restart: what its first piece shows, what to do next, and the two signatures, each by its own person. */
export function RestartDialog({ restartId, close }: { restartId: string; close: () => void }) {
  const dialog = useRef<HTMLDialogElement>(null);
  const detail = useSignal<RestartDetail | null>(null);
  const problem = useSignal<Error | null>(null);
  const busy = useSignal(false);

  useEffect(() => {
    dialog.current?.showModal();
    const refresh = () =>
      call('GET /api/restarts/{id}', { params: { id: restartId } }).then(
        (answer) => {
          detail.value = answer;
        },
        (error: Error) => {
          problem.value = error;
        },
      );
    refresh();
    return onChange((change) => {
      const restart = detail.value?.restart;
      const concerns =
        change === null ||
        (change.kind === 'restart' && change.restartId === restartId) ||
        (change.kind === 'event' && change.lineId === restart?.lineId) ||
        (change.kind === 'sample' && restart?.plan.some(({ streamId }) => streamId === change.streamId));
      if (concerns) refresh();
    });
  }, []);

  /** Resolves true when it is in the record. */
  const send = async (statement: () => Promise<RestartDetail>): Promise<boolean> => {
    if (busy.value || !personIsNamed()) return false;
    busy.value = true;
    try {
      detail.value = await statement();
      problem.value = null;
      return true;
    } catch (error) {
      problem.value = error as Error;
      return false;
    } finally {
      busy.value = false;
    }
  };

  return (
    <dialog ref={dialog} class="restart-dialog" aria-labelledby="restart-title" onClose={close}>
      {detail.value === null ? (
        <h2 id="restart-title">First piece</h2>
      ) : (
        <Sheet detail={detail.value} send={send} busy={busy.value} problem={problem.value} />
      )}
      <ProblemNotice error={problem.value} shownFields={['text']} />
      <p class="row">
        <button type="button" onClick={() => dialog.current?.close()}>
          Back
        </button>
      </p>
    </dialog>
  );
}

interface SheetProps {
  readonly detail: RestartDetail;
  readonly send: (statement: () => Promise<RestartDetail>) => Promise<boolean>;
  readonly busy: boolean;
  readonly problem: Error | null;
}

const personName = (id: string): string => peopleById.value.get(id)?.name ?? id;

function Sheet(props: SheetProps) {
  const { restart, results, goneWrong, next, correctedSince } = props.detail;
  const line = linesById.value.get(restart.lineId)?.name ?? restart.lineId;
  const station = stationsById.value.get(restart.stationId ?? '')?.name;
  const now = tickingNow.value;
  const offset = utcOffsetMinutes.value;
  const bad = results.some(({ state }) => state === 'outside' || state === 'signal');
  const isOpen = restart.state !== 'approved' && restart.state !== 'overtaken';
  return (
    <div class="stack">
      <h2 id="restart-title">
        First piece after the {kindWords[restart.kind]} at {shortTime(restart.at, now, offset)}:{' '}
        {station ?? line}
      </h2>
      <p>
        <strong>{restartHeadline(restart, now, offset)}.</strong>{' '}
        {restartFacts(restart, personName(restart.stateBy))}{' '}
        {restart.modelId !== null && <>Part model {modelName(restart.modelId)}. </>}
        {restart.overtakes.length > 0 &&
          'The set-up had been changed before that, too, and was never approved: those parts are counted here.'}
      </p>
      {correctedSince.length > 0 && (
        <Notice kind="call" title="Samples were corrected after the approval">
          <p>
            {correctedSince.map(streamTitle).join('; ')}: look at the values of now. If they do not bear the
            approval, take it back.
          </p>
        </Notice>
      )}
      <section aria-labelledby="restart-results">
        <h3 id="restart-results">
          {restart.state === 'approved' ? 'What it was approved on' : 'What the first piece shows'}
        </h3>
        <ul class="restart-results">
          {results.map((result) => (
            <Result key={result.streamId} result={result} modelId={restart.modelId} isOpen={isOpen} />
          ))}
        </ul>
      </section>
      {goneWrong.length > 0 && (
        <Notice kind="call" title="What went wrong before">
          <ul class="restart-record">
            {goneWrong.map(({ streamId, alarmId, sentence }) => (
              <li key={`${streamId} ${sentence}`}>
                <strong>{streamTitle(streamId)}:</strong>{' '}
                {alarmId === null ? sentence : <a href={`/floor?alarm=${alarmId}`}>{sentence}</a>}
              </li>
            ))}
          </ul>
        </Notice>
      )}
      <Notice kind={isOpen ? (bad ? 'call' : 'ask') : 'quiet'} title="What to do next">
        <p>{next}</p>
      </Notice>
      <Statements {...props} />
      {isOpen && (
        <p class="cautions">
          Safety first: everybody clear, guards closed, tools accounted for; only authorised people reach in,
          isolated and locked; site rules come first. People release parts: approving is about the set-up from
          now on, not about the parts made before.
        </p>
      )}
      <Record detail={props.detail} />
    </div>
  );
}

function Result({
  result,
  modelId,
  isOpen,
}: {
  result: FirstPieceResult;
  modelId: string | null;
  isOpen: boolean;
}) {
  const { streamId, pieces, state, sentence, values, count, takenAt, outsideSpecification } = result;
  const words = resultWords[state];
  const decimals = characteristicOf(streamId)?.decimals ?? 2;
  const unit = characteristicOf(streamId)?.unit;
  const stationId = streamsById.value.get(streamId)?.stationId ?? '';
  const model = modelId === null ? '' : `&model=${encodeURIComponent(modelId)}`;
  return (
    <li class={`restart-result ${words.tone}`} data-stream={streamId} data-state={state}>
      <p>
        <strong>
          <span aria-hidden="true">{words.mark} </span>
          {words.word}:{' '}
        </strong>
        <a href={`/review?stream=${encodeURIComponent(streamId)}${model}`}>{streamTitle(streamId)}</a>,{' '}
        {pieces} {pieces === 1 ? 'piece' : 'pieces'} planned
        {takenAt !== null && `, measured at ${shortTime(takenAt, tickingNow.value, utcOffsetMinutes.value)}`}
      </p>
      {values.length > 0 && (
        <p class="restart-values">
          {values.map((value, position) => {
            const text = value === null ? 'not measurable' : formatNumber(value, decimals);
            const key = `${position} ${text}`;
            return outsideSpecification.includes(position) ? (
              <strong key={key}>{text} (outside)</strong>
            ) : (
              <span key={key}>{text}</span>
            );
          })}
          {unit !== undefined && unit !== '1' && <span>{unit}</span>}
        </p>
      )}
      {count !== null && (
        <p class="restart-values">
          {count.nonconforming} nonconforming of {count.inspected} inspected
        </p>
      )}
      <p>{sentence}</p>
      {isOpen && state !== 'good' && whyNot('enter samples') === null && (
        <p>
          <a
            class="button"
            href={`/station?station=${encodeURIComponent(stationId)}&stream=${encodeURIComponent(streamId)}`}
          >
            {state === 'not-measured' ? 'Measure it at the station' : 'Measure it again at the station'}
            <span class="visually-hidden">: {streamTitle(streamId)}</span>
          </a>
        </p>
      )}
    </li>
  );
}

/** What whoever is here may state now, or who else may. */
function Statements({ detail, send, busy, problem }: SheetProps) {
  const { restart, results } = detail;
  const text = useSignal('');
  const params = { id: restart.id };
  const undone = results.some(({ state }) => ['not-measured', 'too-few', 'in-doubt'].includes(state));
  const bad = results.some(({ state }) => state === 'outside' || state === 'signal');
  const isGood = results.every(({ state }) => state === 'good');
  const typed = text.value.trim();
  const clear = (stored: boolean) => {
    if (stored) text.value = '';
  };
  const state = () =>
    send(() =>
      call('POST /api/restarts/{id}/first-piece', { params, body: { id: newId(), text: typed } }),
    ).then(clear);
  const decide = (decision: 'approved' | 'refused') =>
    send(() =>
      call('POST /api/restarts/{id}/decision', { params, body: { id: newId(), decision, text: typed } }),
    ).then(clear);
  const words = (label: string, hint: string) => (
    <Field label={label} hint={hint} wrong={wrongAt(problem, 'text')}>
      <input
        maxLength={2000}
        value={text.value}
        onInput={(event) => {
          text.value = event.currentTarget.value;
        }}
      />
    </Field>
  );

  const mayNotState = whyNot('state first pieces');
  const mayNotDecide = whyNot('approve first pieces');
  if (restart.state === 'waiting' || restart.state === 'refused') {
    if (mayNotState !== null) return <p>{mayNotState}</p>;
    return (
      <fieldset class="stack">
        <legend>Technician</legend>
        {words('In words, if you like', 'What the engineer should know.')}
        <button type="button" class="main restart-button" disabled={busy || undone || bad} onClick={state}>
          The first piece is done: ready for approval
        </button>
        {bad ? (
          <p>
            Not yet: a result is outside the drawing or on a signal, so it could not be approved. Tell the
            authorised setter and the engineer; once it is put right, record the adjustment and measure again.
          </p>
        ) : (
          undone && <p>Not yet: everything planned must be measured first.</p>
        )}
      </fieldset>
    );
  }
  if (restart.state === 'stated') {
    if (mayNotDecide !== null) return <p>{mayNotDecide}</p>;
    return (
      <fieldset class="stack">
        <legend>Engineer, another person than {personName(restart.stateBy)}</legend>
        {words('Why', 'Needed to refuse.')}
        <div class="row">
          <button
            type="button"
            class="main restart-button"
            disabled={busy || !isGood}
            onClick={() => decide('approved')}
          >
            Approve the restart
          </button>
          <button
            type="button"
            class="restart-button"
            disabled={busy || typed === ''}
            onClick={() => decide('refused')}
          >
            Refuse: measure again
          </button>
        </div>
        {bad && (
          <p>
            It cannot be approved: a result is outside the drawing or on a signal. Write why, and refuse it.
          </p>
        )}
        {!bad && undone && <p>It cannot be approved: something planned is not measured, or is in doubt.</p>}
        {typed === '' && <p>To refuse it, write why first.</p>}
      </fieldset>
    );
  }
  if (restart.state === 'approved' && mayNotDecide === null) {
    return (
      <details>
        <summary class="button">Take the approval back</summary>
        <div class="stack">
          {words('Why', 'The approval stays in the record, with this reason beside it.')}
          <button
            type="button"
            class="restart-button"
            disabled={busy || typed === ''}
            onClick={() => decide('refused')}
          >
            Not approved any more
          </button>
        </div>
      </details>
    );
  }
  return null;
}

function Record({ detail: { entries, restart } }: { detail: RestartDetail }) {
  const time = (at: string) => shortTime(at, tickingNow.value, utcOffsetMinutes.value);
  return (
    <section aria-labelledby="restart-record">
      <h3 id="restart-record">Record</h3>
      <ol class="restart-record">
        <li>
          {time(restart.at)} {kindWords[restart.kind]}, recorded by {personName(restart.personId)}
        </li>
        {entries.map(({ kind, at, personId, text }) => (
          <li key={`${at} ${kind}`}>
            {time(at)} {entryWords[kind]}, {personName(personId)}
            {text !== '' && `: ${text}`}
          </li>
        ))}
      </ol>
    </section>
  );
}

import { call } from '../client.ts';
import { useKeptFresh } from '../handover/use-kept-fresh.ts';
import { modelName, streamTitle } from '../names.ts';
import { ProblemNotice } from '../ui/ProblemNotice.tsx';
import { ConcessionCard } from './ConcessionCard.tsx';
import './concessions.css';

const MOST = 500;

/** Every concession, the newest first. */
export default function ConcessionsPage() {
  const { value, problem, refresh } = useKeptFresh(() =>
    call('GET /api/concessions', { query: { limit: MOST } }),
  );
  if (value.value === null)
    return problem.value === null ? <p role="status">Loading…</p> : <ProblemNotice error={problem.value} />;
  const holding = value.value.filter(({ state }) => state === 'valid').length;
  return (
    <div class="stack">
      <h1>
        {holding === 0
          ? 'No concession holds'
          : `${holding} concession${holding === 1 ? ' holds' : 's hold'}`}
      </h1>
      <p>
        Parts that a customer takes although they are not as the drawing asks. A new one is signed at the
        alarm where the parts were set apart and counted, so that it is known which they are.
      </p>
      <ProblemNotice error={problem.value} />
      <ul class="concessions">
        {value.value.map((concession) => (
          <li key={concession.no}>
            <h2>
              <a href={`/floor?alarm=${concession.alarmId}`}>
                {streamTitle(concession.streamId)}, {modelName(concession.modelId)}, alarm{' '}
                {concession.alarmId}
              </a>
            </h2>
            <ul class="concessions">
              <ConcessionCard concession={concession} changed={refresh} />
            </ul>
          </li>
        ))}
      </ul>
      <p>
        <a href="/handover">Shift handover</a>. Runtrue advises; people release parts.
      </p>
    </div>
  );
}

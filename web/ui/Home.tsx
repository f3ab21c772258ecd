import { plantModel } from '../plant.ts';
import { Notice } from './Notice.tsx';
import { workplaces } from './workplaces.ts';

/** The first page: which job are you here for? */
export default function Home() {
  const empty = plantModel.value?.streams.length === 0;
  return (
    <div class="stack">
      <h1>{plantModel.value?.plant.name}</h1>
      {empty && (
        <Notice kind="quiet" title="This plant is empty">
          <p>
            Begin in <a href="/setup">Setup</a>: a person, a line with a station, a part model, a
            characteristic, a stream with its sampling plan. Then enter samples at the{' '}
            <a href="/station">Station</a> or <a href="/import">import</a> them.
          </p>
        </Notice>
      )}
      <ul class="doors">
        {workplaces.map((workplace) => (
          <li key={workplace.path}>
            <a class="button" href={workplace.path}>
              <strong>{workplace.name}</strong>
              <span>{workplace.forWhom}</span>
            </a>
          </li>
        ))}
      </ul>
      <p>
        Runtrue advises; people decide. It commands no machine and releases no part. Site rules, local law and
        authorised staff always come first.
      </p>
    </div>
  );
}

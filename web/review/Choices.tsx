import { useSignal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import type { PlantModel } from '../../api/schemas.ts';
import { call } from '../client.ts';
import { serverNow } from '../live.ts';
import { utcOffsetMinutes } from '../plant.ts';
import { Field } from '../ui/Field.tsx';
import { ProblemNotice } from '../ui/ProblemNotice.tsx';
import { StreamOptions } from '../ui/StreamOptions.tsx';
import { modelsOfStream } from './models-of-stream.ts';
import { fromLocalField, type ReviewAddress, toLocalField } from './period.ts';

const DAY = 86_400_000;

/** Which stream, which part model, which period. */
export function Choices({
  plant,
  address,
  shownPeriod,
  go,
}: {
  plant: PlantModel;
  address: ReviewAddress & { streamId: string; modelId: string };
  /** What the server answered for; the fields show it where the address names no time. */
  shownPeriod: { from: string; to: string } | null;
  go: (address: ReviewAddress) => void;
}) {
  const offset = utcOffsetMinutes.value;
  const from = useSignal('');
  const to = useSignal('');
  const wrong = useSignal<string | null>(null);
  const problem = useSignal<Error | null>(null);
  const shownFrom = address.from ?? shownPeriod?.from;
  const shownTo = address.to ?? shownPeriod?.to;
  useEffect(() => {
    from.value = shownFrom === undefined ? '' : toLocalField(shownFrom, offset);
    to.value = shownTo === undefined ? '' : toLocalField(shownTo, offset);
    wrong.value = null;
  }, [shownFrom, shownTo, offset]);

  const period = (begin: string | null, end: string | null): void => go({ ...address, from: begin, to: end });
  const choose = async (find: () => Promise<string | null>): Promise<void> => {
    try {
      const begin = await find();
      problem.value = null;
      period(begin, null);
    } catch (error) {
      problem.value = error as Error;
    }
  };
  const asked = { streamId: address.streamId, modelId: address.modelId };
  const newest25 = async (): Promise<string | null> => {
    const review = await call('GET /api/review', { query: { ...asked, limit: 25 } });
    return review.samples[0]?.takenAt ?? null;
  };
  const sinceLimits = async (): Promise<string | null> => {
    const versions = await call('GET /api/limits', { query: asked });
    const now = serverNow();
    const begun = versions.filter((version) => Date.parse(version.effectiveFrom) <= now);
    if (begun.length === 0) throw new Error('No limits are in force yet.');
    return begun.reduce((latest, version) => (version.version > latest.version ? version : latest))
      .effectiveFrom;
  };

  return (
    <section class="panel stack choices" aria-label="What to review">
      <div class="row">
        <Field label="Stream">
          <select
            value={address.streamId}
            onChange={(event) => {
              const streamId = event.currentTarget.value;
              const models = modelsOfStream(plant, streamId);
              const modelId = models.some((model) => model.id === address.modelId)
                ? address.modelId
                : (models[0]?.id ?? null);
              go({ streamId, modelId, from: address.from, to: address.to });
            }}
          >
            <StreamOptions plant={plant} />
          </select>
        </Field>
        <Field label="Part model">
          <select
            value={address.modelId}
            onChange={(event) => go({ ...address, modelId: event.currentTarget.value })}
          >
            {modelsOfStream(plant, address.streamId).map((model) => (
              <option key={model.id} value={model.id}>
                {model.name}
              </option>
            ))}
          </select>
        </Field>
      </div>
      <form
        class="row"
        onSubmit={(event) => {
          event.preventDefault();
          const begin = fromLocalField(from.value, offset);
          const end = fromLocalField(to.value, offset);
          wrong.value =
            begin !== null && end !== null && begin >= end
              ? 'The end has to be later than the beginning.'
              : null;
          if (wrong.value === null) period(begin, end);
        }}
      >
        <Field label="From (plant time)">
          <input
            type="datetime-local"
            value={from.value}
            onInput={(event) => {
              from.value = event.currentTarget.value;
            }}
          />
        </Field>
        <Field label="To (plant time)" wrong={wrong.value}>
          <input
            type="datetime-local"
            value={to.value}
            onInput={(event) => {
              to.value = event.currentTarget.value;
            }}
          />
        </Field>
        <button type="submit">Show this period</button>
      </form>
      <fieldset class="row quick">
        <legend class="visually-hidden">Usual periods</legend>
        <button type="button" onClick={() => choose(newest25)}>
          Last 25 samples
        </button>
        <button type="button" onClick={() => period(new Date(serverNow() - 7 * DAY).toISOString(), null)}>
          Last 7 days
        </button>
        <button type="button" onClick={() => choose(sinceLimits)}>
          Since the last limits
        </button>
        <button
          type="button"
          aria-pressed={address.from === null && address.to === null}
          onClick={() => period(null, null)}
        >
          All
        </button>
      </fieldset>
      <ProblemNotice error={problem.value} />
    </section>
  );
}

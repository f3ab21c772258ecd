import { useSignal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import type { LimitsVersion, Review } from '../../api/schemas.ts';
import { call } from '../client.ts';
import { onChange } from '../live.ts';
import { plantModel } from '../plant.ts';
import { Notice } from '../ui/Notice.tsx';
import { ProblemNotice } from '../ui/ProblemNotice.tsx';
import { Choices } from './Choices.tsx';
import { modelsOfStream } from './models-of-stream.ts';
import { type ReviewAddress, readAddress, writeAddress } from './period.ts';
import { StreamReview } from './StreamReview.tsx';
import './review.css';

/** As many samples as one answer carries. */
const MOST_SAMPLES = 20_000;

interface Loaded {
  readonly review: Review;
  readonly versions: readonly LimitsVersion[];
}

/** Is it stable, is it good enough? One stream, one part model, one period. */
export default function ReviewPage() {
  const plant = plantModel.value;
  const address = useSignal<ReviewAddress>(readAddress(location.search));
  const loaded = useSignal<Loaded | null>(null);
  const problem = useSignal<Error | null>(null);

  const streamId = address.value.streamId ?? plant?.streams[0]?.id ?? null;
  const modelId =
    address.value.modelId ?? (plant && streamId ? (modelsOfStream(plant, streamId)[0]?.id ?? null) : null);
  const { from, to } = address.value;

  useEffect(() => {
    if (streamId === null || modelId === null) return;
    let current = true;
    const load = async (): Promise<void> => {
      const asked = { streamId, modelId };
      const period = { ...(from === null ? {} : { from }), ...(to === null ? {} : { to }) };
      try {
        const [review, versions] = await Promise.all([
          call('GET /api/review', { query: { ...asked, ...period, limit: MOST_SAMPLES } }),
          call('GET /api/limits', { query: asked }),
        ]);
        if (!current) return;
        loaded.value = { review, versions };
        problem.value = null;
      } catch (error) {
        if (current) problem.value = error as Error;
      }
    };
    load();
    // Samples come in bursts when a file is imported: one answer for all of them.
    let waiting: ReturnType<typeof setTimeout> | undefined;
    const leave = onChange((change) => {
      const ours =
        change === null || change.kind === 'event' || ('streamId' in change && change.streamId === streamId);
      if (!ours) return;
      clearTimeout(waiting);
      waiting = setTimeout(load, 300);
    });
    return () => {
      current = false;
      clearTimeout(waiting);
      leave();
    };
  }, [streamId, modelId, from, to]);

  if (plant === null) return null;
  if (streamId === null || modelId === null) {
    return (
      <>
        <h1>Review</h1>
        <Notice kind="quiet" title="Nothing to review yet">
          <p>
            This plant has no stream or no part model. Begin in <a href="/setup">Setup</a>.
          </p>
        </Notice>
      </>
    );
  }
  const go = (next: ReviewAddress): void => {
    history.replaceState(null, '', writeAddress(next));
    if (next.streamId !== streamId || next.modelId !== modelId) loaded.value = null;
    address.value = next;
  };
  const answer = loaded.value;
  const fits = answer?.review.streamId === streamId && answer.review.modelId === modelId;
  return (
    <div class="stack review">
      <h1>Review</h1>
      <Choices
        plant={plant}
        address={{ ...address.value, streamId, modelId }}
        shownPeriod={fits ? answer.review : null}
        go={go}
      />
      <ProblemNotice error={problem.value} />
      {fits ? (
        <StreamReview
          plant={plant}
          review={answer.review}
          versions={answer.versions}
          choosePeriod={(begin, end) => go({ streamId, modelId, from: begin, to: end })}
        />
      ) : (
        problem.value === null && <p role="status">Loading the samples…</p>
      )}
    </div>
  );
}

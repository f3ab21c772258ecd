import { useSignal } from '@preact/signals';
import { useMemo, useRef } from 'preact/hooks';
import type {
  Characteristic,
  LimitsVersion,
  PlantModel,
  Review,
  SamplingPlan,
  Specification,
} from '../../api/schemas.ts';
import { StatisticsError } from '../../src/errors.ts';
import { showing, type VisibleRange, wholeRange } from '../charts/visible-range.ts';
import { formatCount } from '../format.ts';
import { whyNot } from '../permissions.ts';
import { Notice } from '../ui/Notice.tsx';
import { ControlCharts } from './ControlCharts.tsx';
import { CountTable } from './CountTable.tsx';
import { FreezeDialog } from './FreezeDialog.tsx';
import { GapList } from './GapList.tsx';
import { PointPanel } from './PointPanel.tsx';
import { PointTable } from './PointTable.tsx';
import { type Study, studyOf } from './study.ts';
import { VerdictPanel } from './VerdictPanel.tsx';

/** What is known about the chosen stream, part model and period. */
export function StreamReview({
  plant,
  review,
  versions,
  choosePeriod,
}: {
  plant: PlantModel;
  review: Review;
  versions: readonly LimitsVersion[];
  choosePeriod: (from: string, to: string) => void;
}) {
  const stream = plant.streams.find((one) => one.id === review.streamId);
  const characteristic = plant.characteristics.find((one) => one.id === stream?.characteristicId);
  const plan = plant.plans.find((one) => one.streamId === review.streamId);
  const specification =
    plant.specifications.find(
      (one) => one.characteristicId === characteristic?.id && one.modelId === review.modelId,
    ) ?? null;
  const exportAddress = `/api/export.csv?${new URLSearchParams({
    streamId: review.streamId,
    modelId: review.modelId,
    from: review.from,
    to: review.to,
  })}`;

  const study = useMemo((): Study | Error | null => {
    if (plan === undefined || plan.chart === 'none' || characteristic === undefined) return null;
    try {
      return studyOf({ ...review, limits: [...versions] }, plan, plan.chart, characteristic);
    } catch (error) {
      if (error instanceof StatisticsError) return error;
      throw error;
    }
  }, [review, versions, plan, characteristic]);

  if (characteristic === undefined) return null;
  return (
    <>
      {review.truncated && (
        <Notice kind="ask" title={`Only the newest ${formatCount(review.samples.length)} samples are shown`}>
          <p>The period holds more. Choose a shorter one, or an earlier end.</p>
        </Notice>
      )}
      {plan !== undefined && <PlanRemarks plan={plan} />}
      {review.samples.length === 0 ? (
        <Notice kind="quiet" title="No samples in this period">
          <p>
            Choose another period or part model, enter samples at the <a href="/station">Station</a>, or{' '}
            <a href="/import">import</a> them.
          </p>
        </Notice>
      ) : characteristic.kind === 'count' ? (
        <CountTable samples={review.samples} />
      ) : study === null ? (
        <Notice kind="quiet" title="No chart">
          <p>The sampling plan of this stream draws none. Setup can change that.</p>
        </Notice>
      ) : study instanceof Error ? (
        <Notice kind="call" title="These samples do not fit the chart of their sampling plan">
          <p>{study.message}</p>
        </Notice>
      ) : (
        <ChartedReview
          key={`${review.streamId} ${review.modelId} ${review.from}`}
          study={study}
          characteristic={characteristic}
          specification={specification}
          plan={plan!}
          review={review}
          choosePeriod={choosePeriod}
        />
      )}
      <GapList review={review} />
      {review.samples.length > 0 && (
        <p>
          <a href={exportAddress} download>
            This period as a CSV file
          </a>
        </p>
      )}
    </>
  );
}

/** Where the plan departs from the usual, before anybody reads a chart. */
function PlanRemarks({ plan }: { plan: SamplingPlan }) {
  const notes = [
    plan.meanLimitsFrom === 'moving-range-of-means' && plan.chart !== 'none'
      ? 'Limits for its means come from the moving range of the means, not from the spread inside samples.'
      : '',
    plan.raisesAlarms ? '' : 'Its signals are drawn but call nobody.',
    plan.remark,
  ].filter((note) => note !== '');
  if (plan.remark === '' && notes.length === 0) return null;
  return (
    <Notice kind="quiet" title="About this stream">
      <p>{notes.join(' ')}</p>
    </Notice>
  );
}

function ChartedReview({
  study,
  characteristic,
  specification,
  plan,
  review,
  choosePeriod,
}: {
  study: Study;
  characteristic: Characteristic;
  specification: Specification | null;
  plan: SamplingPlan;
  review: Review;
  choosePeriod: (from: string, to: string) => void;
}) {
  const section = useRef<HTMLElement>(null);
  const count = study.points.length;
  /** null: all of the period, also when samples come in while somebody looks. */
  const closerView = useSignal<VisibleRange | null>(null);
  const chosen = useSignal<number | null>(null);
  const answers = useSignal<typeof import('./Answers.tsx') | null>(null);
  const failed = useSignal('');
  const freezing = useSignal(false);
  const mayNotFreeze = whyNot('freeze control limits');
  const range = visibleOf(closerView.value, count);
  const chosenIndex = chosen.value === null ? null : Math.min(chosen.value, count - 1);

  const assessment = useMemo(
    () => answers.value?.assess(study, characteristic, specification, plan) ?? null,
    [study, characteristic, specification, plan, answers.value],
  );
  const firstChart = (): void => {
    if (section.current === null || section.current.dataset.firstChartMs !== undefined) return;
    performance.mark('first-chart');
    section.current.dataset.firstChartMs = performance.now().toFixed(0);
    // The numbers come a moment after the picture: nobody waits for them to see it.
    setTimeout(() => {
      import('./Answers.tsx').then(
        ({ assess, Answers }) => {
          answers.value = { assess, Answers };
        },
        (error: Error) => {
          failed.value = error.message;
        },
      );
    });
  };
  const setRange = (next: VisibleRange): void => {
    closerView.value = next.first === 0 && next.last === count - 1 ? null : next;
  };
  const choose = (index: number): void => {
    chosen.value = index;
    setRange(showing(range, index, count));
  };

  return (
    <>
      {failed.value === '' ? (
        <VerdictPanel study={study} assessment={assessment} />
      ) : (
        <Notice kind="call" title="The verdict could not be loaded">
          <p>
            {failed.value} <a href={location.href}>Try again</a>
          </p>
        </Notice>
      )}
      <section ref={section} class="panel charts" aria-label="Control charts">
        <div class="charts-and-point">
          <ControlCharts
            study={study}
            characteristic={characteristic}
            range={range}
            setRange={setRange}
            chosen={chosenIndex}
            choose={choose}
            onFirstChart={firstChart}
          />
          <PointPanel study={study} index={chosenIndex} characteristic={characteristic} />
        </div>
        <div class="row">
          {closerView.value !== null && (
            <button
              type="button"
              onClick={() =>
                choosePeriod(
                  study.points[range.first]!.sample.takenAt,
                  study.points[range.last]!.sample.takenAt,
                )
              }
            >
              Make the part shown the period
            </button>
          )}
          {mayNotFreeze === null ? (
            <button
              type="button"
              onClick={() => {
                freezing.value = true;
              }}
            >
              Freeze limits from this period…
            </button>
          ) : (
            <p>{mayNotFreeze}</p>
          )}
        </div>
        <PointTable study={study} range={range} characteristic={characteristic} />
      </section>
      {answers.value !== null && assessment !== null && (
        <answers.value.Answers
          study={study}
          assessment={assessment}
          characteristic={characteristic}
          specification={specification}
          show={(index) => {
            choose(index);
            section.current?.scrollIntoView({ block: 'start' });
          }}
        />
      )}
      {freezing.value && (
        <FreezeDialog
          study={study}
          characteristic={characteristic}
          specification={specification}
          plan={plan}
          modelId={review.modelId}
          close={() => {
            freezing.value = false;
          }}
        />
      )}
    </>
  );
}

function visibleOf(closer: VisibleRange | null, count: number): VisibleRange {
  if (closer === null || closer.last >= count) return wholeRange(count);
  return closer;
}

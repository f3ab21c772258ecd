import { useSignal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import type { SampleAnswer, Station } from '../../api/schemas.ts';
import type { NewSample } from '../offline/outbox.ts';
import { streamsById } from '../plant.ts';
import { firstPieceDue } from '../restarts/first-piece-due.ts';
import { ProblemNotice } from '../ui/ProblemNotice.tsx';
import { CorrectionPage } from './CorrectionPage.tsx';
import { LineHeader } from './LineHeader.tsx';
import { NotStoredYet } from './NotStoredYet.tsx';
import { SameAgain } from './SameAgain.tsx';
import { SamplePage } from './SamplePage.tsx';
import { useStationWork } from './station-work.ts';
import { TaskList } from './TaskList.tsx';
import { nextToMeasure, orderTasks } from './task-order.ts';
import { VerdictPage } from './VerdictPage.tsx';

let askedStreamId = new URLSearchParams(location.search).get('stream');

/** The stream that the link into this page names, once. */
function askedStreamAt(stationId: string): string | null {
  const asked = askedStreamId;
  if (asked === null || streamsById.value.get(asked)?.stationId !== stationId) return null;
  askedStreamId = null;
  return asked;
}

type View =
  | { readonly at: 'tasks' }
  | { readonly at: 'sample'; readonly streamId: string }
  | {
      readonly at: 'verdict';
      readonly streamId: string;
      readonly answer: SampleAnswer;
      /** When the last Enter was pressed, on the clock of this page. */
      readonly enteredAt: number;
    }
  | { readonly at: 'same again'; readonly streamId: string }
  | { readonly at: 'not stored yet'; readonly sample: NewSample }
  | {
      readonly at: 'correction';
      readonly sampleId: string;
      readonly streamId: string;
      readonly measuredAgain: boolean;
      /** The readings that gave rise to it, by position. */
      readonly positions: readonly number[];
    };

/** One station: the line, what is due, and one thing at a time. */
export function Workplace({ station }: { station: Station }) {
  const { work, problem, refresh } = useStationWork(station.id);
  const view = useSignal<View>({ at: 'tasks' });
  useEffect(() => {
    const streamId = askedStreamAt(station.id);
    if (streamId !== null) view.value = { at: 'sample', streamId };
  }, []);

  if (work.value === null)
    return problem.value === null ? (
      <p role="status">Loading what is due…</p>
    ) : (
      <ProblemNotice error={problem.value} />
    );

  const ordered = orderTasks(work.value.tasks, firstPieceDue.value);
  const taskOf = (streamId: string) => work.value?.tasks.find((task) => task.streamId === streamId);
  const show = (next: View) => {
    view.value = next;
    scrollTo(0, 0);
  };
  const toTasks = () => {
    show({ at: 'tasks' });
    refresh();
  };
  const toSample = (streamId: string) => show({ at: 'sample', streamId });
  const goOn = (doneStreamId: string) => {
    const next = nextToMeasure(ordered, doneStreamId);
    if (next === null) toTasks();
    else toSample(next.task.streamId);
  };
  const nextOf = (doneStreamId: string) => nextToMeasure(ordered, doneStreamId)?.task.streamId ?? null;

  const current = view.value;
  switch (current.at) {
    case 'sample': {
      const task = taskOf(current.streamId);
      // Nobody has said which model runs: the list says what to do about it.
      if (task === undefined || task.modelId === null) break;
      return (
        <SamplePage
          key={current.streamId}
          task={task}
          lot={work.value.lot}
          back={toTasks}
          correct={(sampleId) =>
            show({
              at: 'correction',
              sampleId,
              streamId: task.streamId,
              measuredAgain: false,
              positions: [],
            })
          }
          stored={(answer, enteredAt) => {
            show({ at: 'verdict', streamId: task.streamId, answer, enteredAt });
            refresh();
          }}
          waiting={(sample) => show({ at: 'not stored yet', sample })}
        />
      );
    }
    case 'verdict':
      return (
        <VerdictPage
          key={`${current.answer.sampleId} ${current.answer.revision}`}
          streamId={current.streamId}
          answer={current.answer}
          enteredAt={current.enteredAt}
          nextStreamId={nextOf(current.streamId)}
          goOn={() => goOn(current.streamId)}
          toTasks={toTasks}
          correct={(measuredAgain, positions) =>
            show({
              at: 'correction',
              sampleId: current.answer.sampleId,
              streamId: current.streamId,
              measuredAgain,
              positions,
            })
          }
        />
      );
    case 'same again':
      return (
        <SameAgain
          streamId={current.streamId}
          nextStreamId={nextOf(current.streamId)}
          goOn={() => goOn(current.streamId)}
          toTasks={toTasks}
        />
      );
    case 'not stored yet':
      return (
        <NotStoredYet
          sample={current.sample}
          nextStreamId={nextOf(current.sample.submission.streamId)}
          goOn={() => goOn(current.sample.submission.streamId)}
          toTasks={toTasks}
        />
      );
    case 'correction':
      return (
        <CorrectionPage
          key={current.sampleId}
          sampleId={current.sampleId}
          expectation={taskOf(current.streamId)?.expectation ?? null}
          expectedModelId={taskOf(current.streamId)?.modelId ?? null}
          measuredAgain={current.measuredAgain}
          positions={current.positions}
          back={toTasks}
          sameAgain={() => show({ at: 'same again', streamId: current.streamId })}
          stored={(answer, enteredAt) => {
            show({ at: 'verdict', streamId: current.streamId, answer, enteredAt });
            refresh();
          }}
        />
      );
  }
  return (
    <>
      <LineHeader station={station} work={work.value} recorded={refresh} />
      <ProblemNotice error={problem.value} />
      <TaskList
        ordered={ordered}
        open={toSample}
        declared={refresh}
        runs={work.value.runningModelId !== null}
      />
    </>
  );
}

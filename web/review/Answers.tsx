/** What is told below the charts. Loaded after the first chart stands, for its statistics weigh more than the picture. */
import type { Characteristic, Specification } from '../../api/schemas.ts';
import type { Assessment } from './assessment.ts';
import { Distribution } from './Distribution.tsx';
import { IndexTable } from './IndexTable.tsx';
import { StabilityPanel } from './StabilityPanel.tsx';
import type { Study } from './study.ts';

export { assess } from './assessment.ts';

export function Answers({
  study,
  assessment,
  characteristic,
  specification,
  show,
}: {
  study: Study;
  assessment: Assessment;
  characteristic: Characteristic;
  specification: Specification | null;
  /** Brings a point of the charts into view. */
  show: (index: number) => void;
}) {
  return (
    <div class="answers">
      <StabilityPanel
        study={study}
        stability={assessment.stability}
        chartCannotJudge={assessment.chartCannotJudge}
        choose={show}
      />
      <Distribution assessment={assessment} characteristic={characteristic} specification={specification} />
      <IndexTable study={study} assessment={assessment} />
    </div>
  );
}

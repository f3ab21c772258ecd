/** How long the same lane has been at the same edge. */
export interface LaneRun {
  /** 0-based; null where no lane is alone at the edge. */
  readonly lane: number | null;
  readonly length: number;
  /** That a lane at the edge of the first sample stays there for the others: the product of 1/(lanes present). */
  readonly probability: number;
}

export const noRun: LaneRun = { lane: null, length: 0, probability: 1 };

/** The run after one more sample. Without another lane to compare with, or with a tie, nobody is at the edge. */
export function extendRun(
  run: LaneRun,
  { lane, alone }: { readonly lane: number | null; readonly alone: boolean },
  present: number,
): LaneRun {
  if (lane === null || !alone || present < 2) return noRun;
  if (lane !== run.lane) return { lane, length: 1, probability: 1 };
  // Kept above 0 for the longest of runs.
  return { lane, length: run.length + 1, probability: Math.max(1e-300, run.probability / present) };
}

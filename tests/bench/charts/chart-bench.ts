/** One chart over many points, timed against a pass over the same memory and against the plainest correct loop. */
export interface ChartBench {
  readonly name: string;
  readonly points: number;
  /** What the chart reads; the memory pass runs over it. */
  readonly input: Float64Array;
  readonly run: () => void;
  readonly plain: () => void;
}

/** A calculation that a person waits for. */
export interface TimedCalculation {
  readonly name: string;
  readonly run: () => void;
}

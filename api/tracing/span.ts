/** Where time goes, for whoever wants to know. Nobody does unless an endpoint for traces is set; then it costs nothing. */

interface Span {
  rename(name: string): void;
  set(attributes: Readonly<Record<string, string | number>>): void;
  failed(): void;
}

interface SpanOptions {
  /** The header traceparent of who asked. */
  readonly parent?: string | null;
  readonly isRequest?: boolean;
}

export type RunInSpan = <T>(
  name: string,
  options: SpanOptions,
  work: (span: Span) => Promise<T>,
) => Promise<T>;

const unseen: Span = { rename() {}, set() {}, failed() {} };
const untraced: RunInSpan = (_name, _options, work) => work(unseen);
let run: RunInSpan = untraced;

/** Runs `work` as one step of what runs around it. */
export const inSpan: RunInSpan = (name, options, work) => run(name, options, work);

/** Sends spans somewhere from now on; null: nowhere. */
export function traceBy(runInSpan: RunInSpan | null): void {
  run = runInSpan ?? untraced;
}

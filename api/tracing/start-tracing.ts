import { type RunInSpan, traceBy } from './span.ts';

export interface Tracing {
  readonly run: RunInSpan;
  /** Sends what waits, and ends. */
  end(): Promise<void>;
}

/** Traces where OTEL_EXPORTER_OTLP_ENDPOINT (or …_TRACES_ENDPOINT) is set; else nothing of it is even loaded. */
export async function startTracing(
  environment: Readonly<Record<string, string | undefined>>,
): Promise<{ end(): Promise<void> }> {
  const { OTEL_EXPORTER_OTLP_ENDPOINT: all, OTEL_EXPORTER_OTLP_TRACES_ENDPOINT: traces } = environment;
  if (!(all || traces) || environment.OTEL_SDK_DISABLED === 'true') return { end: async () => {} };
  const { openTelemetry } = await import('./open-telemetry.ts');
  const tracing = openTelemetry();
  traceBy(tracing.run);
  return {
    async end() {
      traceBy(null);
      // A receiver that is gone must not hold up the stop.
      await tracing.end().catch(() => undefined);
    },
  };
}

/** Spans over OTLP/HTTP, configured by the usual variables of OpenTelemetry. Loaded only where an endpoint is set. */
import { context, propagation, ROOT_CONTEXT, SpanKind, SpanStatusCode, trace } from '@opentelemetry/api';
import { OTLPTraceExporter } from '@opentelemetry/exporter-trace-otlp-http';
import { BatchSpanProcessor, NodeTracerProvider } from '@opentelemetry/sdk-trace-node';
import type { RunInSpan } from './span.ts';
import type { Tracing } from './start-tracing.ts';

export function openTelemetry(): Tracing {
  process.env.OTEL_SERVICE_NAME ??= 'runtrue';
  const provider = new NodeTracerProvider({
    spanProcessors: [new BatchSpanProcessor(new OTLPTraceExporter())],
  });
  provider.register();
  const tracer = trace.getTracer('runtrue');
  const run: RunInSpan = (name, { parent = null, isRequest = false }, work) => {
    const from =
      parent === null
        ? isRequest
          ? ROOT_CONTEXT
          : context.active()
        : propagation.extract(ROOT_CONTEXT, { traceparent: parent });
    const kind = isRequest ? SpanKind.SERVER : SpanKind.INTERNAL;
    return tracer.startActiveSpan(name, { kind }, from, async (span) => {
      try {
        return await work({
          rename: (next) => span.updateName(next),
          set: (attributes) => span.setAttributes(attributes),
          failed: () => span.setStatus({ code: SpanStatusCode.ERROR }),
        });
      } catch (error) {
        // Its message may hold values; the log tells more.
        span.setStatus({ code: SpanStatusCode.ERROR, message: (error as Error).name });
        throw error;
      } finally {
        span.end();
      }
    });
  };
  return { run, end: () => provider.shutdown() };
}

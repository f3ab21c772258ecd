/** Spans of a request and its transaction, as a receiver of OTLP over HTTP gets them. */
import { createServer, type Server } from 'node:http';
import type { AddressInfo } from 'node:net';
import { afterAll, beforeAll, expect, it, vi } from 'vitest';
import { startTracing } from '../../api/tracing/start-tracing.ts';
import { openApp, requestTo, setUpPlant, type TestApp, widths } from '../api/support.ts';

interface SentSpan {
  readonly name: string;
  readonly traceId: string;
  readonly spanId: string;
  readonly parentSpanId?: string;
  readonly kind: number;
  readonly attributes: readonly { readonly key: string; readonly value: Record<string, unknown> }[];
}

const bodies: string[] = [];
let receiver: Server;
let app: TestApp;
beforeAll(async () => {
  receiver = createServer((request, response) => {
    let body = '';
    request.setEncoding('utf8');
    request.on('data', (piece) => {
      body += piece;
    });
    request.on('end', () => {
      bodies.push(`${request.url} ${body}`);
      response.writeHead(200, { 'Content-Type': 'application/json' }).end('{}');
    });
  });
  await new Promise<void>((done) => receiver.listen(0, '127.0.0.1', done));
  app = openApp();
  await setUpPlant(app);
});
afterAll(async () => {
  vi.unstubAllEnvs();
  receiver.close();
  await app.close();
});

it('is not even loaded where no endpoint is set', async () => {
  const tracing = await startTracing({});
  await app.call('POST /api/samples', { body: widths(127) });
  await tracing.end();
  expect(bodies).toEqual([]);
});

it('sends a request, its transaction and what it recorded as steps of the trace that its sender began', async () => {
  const endpoint = `http://127.0.0.1:${(receiver.address() as AddressInfo).port}`;
  vi.stubEnv('OTEL_EXPORTER_OTLP_ENDPOINT', endpoint);
  const tracing = await startTracing(process.env);
  const trace = '4bf92f3577b34da6a3ce929d0e0e4736';
  const request = requestTo('POST /api/samples', { body: { ...widths(127), note: 'private words' } });
  request.headers.set('traceparent', `00-${trace}-00f067aa0ba902b7-01`);
  expect((await app.fetch(request)).status).toBe(200);
  await app.refused('POST /api/samples', { body: { ...widths(127), unit: 'in' } });
  await tracing.end();

  expect(bodies.every((body) => body.startsWith('/v1/traces {'))).toBe(true);
  const spans = bodies.flatMap((body) => {
    const sent = JSON.parse(body.slice(body.indexOf('{'))) as {
      resourceSpans: { scopeSpans: { spans: SentSpan[] }[] }[];
    };
    return sent.resourceSpans.flatMap(({ scopeSpans }) => scopeSpans.flatMap((scope) => scope.spans));
  });
  const own = spans.filter(({ traceId }) => traceId === trace);
  const [asked] = own.filter(({ name }) => name === 'POST /api/samples');
  const [transaction] = own.filter(({ name }) => name === 'transaction');
  const [record] = own.filter(({ name }) => name === 'record');
  expect(asked).toMatchObject({ parentSpanId: '00f067aa0ba902b7', kind: 2 });
  expect(transaction!.parentSpanId).toBe(asked!.spanId);
  expect(record!.parentSpanId).toBe(transaction!.spanId);
  expect(asked!.attributes).toContainEqual({ key: 'http.response.status_code', value: { intValue: 200 } });
  // The refused one is a trace of its own.
  expect(new Set(spans.map(({ traceId }) => traceId)).size).toBe(2);
  expect(bodies.join()).not.toMatch(/private words|kim/i);
});

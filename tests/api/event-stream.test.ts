import { type AddressInfo, connect, type Socket } from 'node:net';
import type { HttpBindings } from '@hono/node-server';
import { createAdaptorServer } from '@hono/node-server';
import { Hono } from 'hono';
import { afterEach, describe, expect, it, vi } from 'vitest';
import { createChangeFeed } from '../../api/notify/change-feed.ts';
import { createEventStreams } from '../../api/notify/event-stream.ts';
import type { Change } from '../../api/schemas.ts';

const alarm: Change = { kind: 'alarm', streamId: 'C5-R1', alarmId: 7, state: 'unacknowledged' };

/** A feed that also tells how many listen. */
function countedFeed() {
  const feed = createChangeFeed();
  let listening = 0;
  return {
    publish: feed.publish,
    hasOthers: feed.hasOthers,
    sent: feed.sent,
    listening: () => listening,
    subscribe(listener: (change: Change) => void) {
      listening += 1;
      const stop = feed.subscribe(listener);
      return () => {
        listening -= 1;
        stop();
      };
    },
  };
}

function reading(response: Response) {
  const reader = response.body!.pipeThrough(new TextDecoderStream()).getReader();
  return {
    async until(words: string): Promise<string> {
      let text = '';
      while (!text.includes(words)) {
        const { done, value } = await reader.read();
        if (done) throw new Error(`ended after ${text}`);
        text += value;
      }
      return text;
    },
    async toEnd(): Promise<string> {
      let text = '';
      for (;;) {
        const { done, value } = await reader.read();
        if (done) return text;
        text += value;
      }
    },
    cancel: () => reader.cancel(),
  };
}

const never = new AbortController().signal;
const admitted = async (): Promise<boolean> => true;
afterEach(() => vi.useRealTimers());

describe('the stream of events', () => {
  it('sends each change with its kind and an increasing id', async () => {
    const feed = createChangeFeed();
    const streams = createEventStreams(feed, never);
    const response = streams.open(never, () => undefined, admitted);
    expect(response.headers.get('content-type')).toBe('text/event-stream');
    feed.publish(alarm);
    feed.publish({ kind: 'plant' });
    const text = await reading(response).until('"plant"}');
    const events = text.split('\n\n').slice(1, 3);
    expect(events[0]).toBe(`id: 1\nevent: alarm\ndata: ${JSON.stringify(alarm)}`);
    expect(events[1]).toBe('id: 2\nevent: plant\ndata: {"kind":"plant"}');
  });

  it('gives one change the same id for every reader', async () => {
    const feed = createChangeFeed();
    const streams = createEventStreams(feed, never);
    const first = reading(streams.open(never, () => undefined, admitted));
    feed.publish({ kind: 'plant' });
    const second = reading(streams.open(never, () => undefined, admitted));
    feed.publish(alarm);
    expect(await first.until('"alarm"')).toContain('id: 2\nevent: alarm');
    expect(await second.until('"alarm"')).toContain('id: 2\nevent: alarm');
  });

  it('sends a comment every 15 seconds', async () => {
    vi.useFakeTimers();
    const streams = createEventStreams(createChangeFeed(), never);
    const stream = reading(streams.open(never, () => undefined, admitted));
    await stream.until('connected');
    vi.advanceTimersByTime(15_000);
    expect(await stream.until('still here')).toBe(': still here\n\n');
  });

  it('asks with each heartbeat whether its reader may still read, and no more once the reader has gone', async () => {
    vi.useFakeTimers();
    const streams = createEventStreams(createChangeFeed(), never);
    let asked = 0;
    let may = true;
    const ask = async (): Promise<boolean> => {
      asked += 1;
      return may;
    };
    const left = streams.open(never, () => undefined, ask);
    await vi.advanceTimersByTimeAsync(30_000);
    expect(asked).toBe(2);
    await left.body!.cancel();
    await vi.advanceTimersByTimeAsync(60_000);
    expect(asked).toBe(2);

    const signedOut = reading(streams.open(never, () => undefined, ask));
    may = false;
    await vi.advanceTimersByTimeAsync(60_000);
    expect(asked).toBe(3);
    expect(await signedOut.toEnd()).toContain('still here');
    expect(streams.readers()).toBe(0);
  });

  it('ends when the reader goes, and when the server stops', async () => {
    const feed = countedFeed();
    const stopping = new AbortController();
    const streams = createEventStreams(feed, stopping.signal);
    const gone = new AbortController();
    const first = reading(streams.open(gone.signal, () => undefined, admitted));
    const second = reading(streams.open(never, () => undefined, admitted));
    gone.abort();
    await first.toEnd();
    feed.publish(alarm);
    stopping.abort();
    expect(await second.toEnd()).toContain('"alarm"');
    expect(feed.listening()).toBe(0);
  });

  it('cuts off a reader that falls behind, and only that one', async () => {
    const feed = createChangeFeed();
    const streams = createEventStreams(feed, never);
    let cut = 0;
    const slow = streams.open(
      never,
      () => {
        cut += 1;
      },
      admitted,
    );
    const quick = reading(streams.open(never, () => undefined, admitted));
    for (let batch = 0; batch < 100; batch += 1) {
      for (let change = 0; change < 100; change += 1) feed.publish(alarm);
      await quick.until(`id: ${(batch + 1) * 100}\n`);
    }
    expect(cut).toBe(1);
    const kept = await reading(slow).toEnd();
    expect(kept.length).toBeLessThan(300 * 1024);
  });
});

describe('the stream over a socket', () => {
  it('brings an alarm at once, breaks with a reader that does not read, forgets who has gone', async () => {
    const feed = createChangeFeed();
    const stopping = new AbortController();
    const streams = createEventStreams(feed, stopping.signal);
    const app = new Hono<{ Bindings: HttpBindings }>();
    let open = 0;
    app.get('/api/stream', (context) => {
      open += 1;
      context.env.outgoing.once('close', () => {
        open -= 1;
      });
      return streams.open(context.req.raw.signal, () => context.env.outgoing.destroy(), admitted);
    });
    const server = createAdaptorServer({ fetch: app.fetch });
    await new Promise<void>((done) => server.listen(0, '127.0.0.1', done));
    const { port } = server.address() as AddressInfo;
    const request = `GET /api/stream HTTP/1.1\r\nHost: 127.0.0.1:${port}\r\n\r\n`;
    const opened = (onData: ((text: string) => void) | null): Promise<Socket> =>
      new Promise((done) => {
        const socket = connect(port, '127.0.0.1', () => socket.write(request, () => done(socket)));
        socket.on('error', () => undefined);
        if (onData) socket.on('data', (chunk) => onData(chunk.toString()));
        else socket.pause();
      });

    const eventually = (check: () => void) => vi.waitFor(check, { timeout: 30_000, interval: 5 });

    let heard = '';
    const board = await opened((text) => {
      heard += text;
    });
    await eventually(() => expect(heard).toContain('connected'));
    feed.publish(alarm);
    // Nothing follows that could push it out of a buffer.
    await eventually(() => expect(heard).toContain('"alarm"'));

    const stuck = await opened(null);
    await eventually(() => expect(open).toBe(2));
    const long: Change = { ...alarm, streamId: 'x'.repeat(10_000) };
    for (let change = 0; change < 3000 && open === 2; change += 1) {
      feed.publish(long);
      if (change % 20 === 0) await new Promise((done) => setTimeout(done, 1));
    }
    await eventually(() => expect(open).toBe(1));
    stuck.destroy();

    board.destroy();
    await eventually(() => expect(open).toBe(0));
    stopping.abort();
    await new Promise((done) => server.close(done));
  });
});

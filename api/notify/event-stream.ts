import type { Change } from '../schemas.ts';
import type { ChangeFeed } from './change-feed.ts';

const HEARTBEAT_MILLISECONDS = 15_000;
/** Bytes that may wait for one reader; who falls further behind is cut off and fetches anew. */
const MAX_WAITING_BYTES = 256 * 1024;

/**
 * Sends each change as a server-sent event (HTML Living Standard, section 9.2), to one reader. Ends when the reader
 * goes, falls behind, or `stopping` says that the server stops.
 */
export function createEventStreams(feed: ChangeFeed, stopping: AbortSignal) {
  let lastId = 0;
  const readers = new Map<(text: string) => void, () => void>();
  // One subscription for all readers, so that an id means the same to each of them.
  const unsubscribe = feed.subscribe(
    (change: Change) => {
      lastId += 1;
      const text = `id: ${lastId}\nevent: ${change.kind}\ndata: ${JSON.stringify(change)}\n\n`;
      for (const send of readers.keys()) send(text);
    },
    () => {
      // Whoever connects again fetches anew.
      for (const giveUp of [...readers.values()]) giveUp();
    },
  );
  stopping.addEventListener('abort', unsubscribe, { once: true });

  /**
   * `cutOff` breaks the connection of a reader that has fallen behind. `stillAdmitted` is asked with each heartbeat:
   * a session may end and a key be revoked while somebody reads.
   */
  const open = (reader: AbortSignal, cutOff: () => void, stillAdmitted: () => Promise<boolean>): Response => {
    const encoder = new TextEncoder();
    let letGo = (): void => {};
    const body = new ReadableStream<Uint8Array>(
      {
        start(controller) {
          const send = (text: string): void => {
            controller.enqueue(encoder.encode(text));
            if ((controller.desiredSize ?? 0) < 0) giveUp();
          };
          const giveUp = (): void => {
            end();
            cutOff();
          };
          const end = (): void => {
            if (!readers.has(send)) return;
            letGo();
            controller.close();
          };
          const heartbeat = setInterval(() => {
            send(': still here\n\n');
            void stillAdmitted().then((admitted) => {
              if (!admitted) end();
            });
          }, HEARTBEAT_MILLISECONDS);
          heartbeat.unref();
          letGo = () => {
            clearInterval(heartbeat);
            readers.delete(send);
            reader.removeEventListener('abort', end);
            stopping.removeEventListener('abort', end);
          };
          reader.addEventListener('abort', end, { once: true });
          stopping.addEventListener('abort', end, { once: true });
          readers.set(send, giveUp);
          send('retry: 2000\n: connected\n\n');
          if (reader.aborted || stopping.aborted) end();
        },
        // Closed already by whoever cancels.
        cancel() {
          letGo();
        },
      },
      new ByteLengthQueuingStrategy({ highWaterMark: MAX_WAITING_BYTES }),
    );
    return new Response(body, {
      headers: {
        'Content-Type': 'text/event-stream',
        'Cache-Control': 'no-store',
        'X-Accel-Buffering': 'no',
        'Transfer-Encoding': 'chunked',
      },
    });
  };

  return { open, readers: () => readers.size };
}

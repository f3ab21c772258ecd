import type { IncomingMessage, Server } from 'node:http';
import type { Socket } from 'node:net';

/** Longest wait for what a client has begun to send and does not finish. */
const UNFINISHED_MILLISECONDS = 1500;
/** Longest wait for an answer that is under way. */
const ANSWER_MILLISECONDS = 9000;

/**
 * Call before the server listens. What it returns ends the server: no connection is taken any more, requests that
 * are in get their answer, and clients that never finish are not waited for.
 */
export function stopServing(server: Server): () => Promise<void> {
  const sockets = new Set<Socket>();
  const answering = new Map<Socket, IncomingMessage>();
  server.on('connection', (socket: Socket) => {
    sockets.add(socket);
    socket.once('close', () => sockets.delete(socket));
  });
  server.on('request', (request, response) => {
    const { socket } = request;
    answering.set(socket, request);
    response.once('close', () => answering.delete(socket));
  });
  return async () => {
    const closed = new Promise<void>((done) => server.close(() => done()));
    // A connection kept alive becomes idle only after its request is answered.
    const idle = setInterval(() => server.closeIdleConnections(), 20);
    const unfinished = setTimeout(() => {
      for (const socket of sockets) if (answering.get(socket)?.complete !== true) socket.destroy();
    }, UNFINISHED_MILLISECONDS);
    const all = setTimeout(() => server.closeAllConnections(), ANSWER_MILLISECONDS);
    await closed;
    clearInterval(idle);
    clearTimeout(unfinished);
    clearTimeout(all);
  };
}

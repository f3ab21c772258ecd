import type { ServerOptions } from 'node:http';

/**
 * How long a client may take to send, so that many slow ones cannot hold every connection. An upload at the largest
 * size arrives in time at 0.6 Mbit/s. Event streams are answers, and last as long as they like.
 */
export const usualServerLimits: ServerOptions = {
  headersTimeout: 15_000,
  requestTimeout: 300_000,
  keepAliveTimeout: 10_000,
  connectionsCheckingInterval: 5_000,
  // All headers of a request together, in bytes.
  maxHeaderSize: 16 * 1024,
};

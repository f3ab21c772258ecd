import { isIP } from 'node:net';
import type { Outside } from './outside.ts';

/** Who sent a request, as far as this server can tell. */
export interface Client {
  /** IP address; 'in process' where there is no socket. */
  readonly address: string;
  /** It came to the outside over https. */
  readonly https: boolean;
}

const mapped = /^::ffff:(\d+\.\d+\.\d+\.\d+)$/i;
const plain = (address: string): string => mapped.exec(address)?.[1] ?? address;

/**
 * The peer of the socket. Where that is a trusted proxy, the last address of X-Forwarded-For that is none: everything
 * before it was written by the client itself.
 */
export function clientOf(peer: string | undefined, headers: Headers, { proxies, address }: Outside): Client {
  if (peer === undefined) return { address: 'in process', https: false };
  const isProxy = (one: string): boolean => proxies.check(one, isIP(one) === 6 ? 'ipv6' : 'ipv4');
  const nearest = plain(peer);
  if (!isProxy(nearest)) return { address: nearest, https: false };
  const hops = (headers.get('x-forwarded-for') ?? '').split(',').map((hop) => plain(hop.trim()));
  let client = nearest;
  for (const hop of hops.reverse()) {
    if (isIP(hop) === 0) break;
    client = hop;
    if (!isProxy(hop)) break;
  }
  const scheme = headers.get('x-forwarded-proto');
  return { address: client, https: scheme === null ? address?.protocol === 'https:' : scheme === 'https' };
}

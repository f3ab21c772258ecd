/**
 * A page of another site can have its own name point to this machine and then read what the browser fetches there
 * (DNS rebinding). The browser still sends the other name as Host, so only known names are answered; an IP address
 * belongs to no other site.
 */
import { hostname } from 'node:os';
import { ProblemError } from '../problem.ts';
import type { Outside } from './outside.ts';

const ipAddress = /^(?:\[[0-9a-f:.]+\]|\d{1,3}(?:\.\d{1,3}){3})$/;

const nameOf = (host: string): string => host.toLowerCase().replace(/:\d+$/, '').replace(/\.$/, '');

export function hostCheck({ address, hosts }: Outside): (request: Request) => void {
  const known = new Set(['localhost', hostname().toLowerCase(), ...hosts]);
  if (address !== null) known.add(nameOf(address.host));
  const isKnown = (host: string): boolean => {
    const name = nameOf(host);
    return ipAddress.test(name) || name.endsWith('.localhost') || known.has(name);
  };
  return ({ url, headers }) => {
    const { host: inTarget } = new URL(url);
    for (const host of [inTarget, headers.get('host') ?? inTarget]) {
      if (isKnown(host)) continue;
      const message = `This server does not answer to the name ${JSON.stringify(host.slice(0, 100))}. If it should, name it in PUBLIC_URL or ALLOWED_HOSTS.`;
      throw new ProblemError(421, 'Not this server', message, [{ field: 'Host', message }]);
    }
  };
}

/**
 * How the server is seen from outside: the names it answers to, and which proxies may speak for a client. Nothing is
 * believed of a request's own headers unless the environment says so.
 */
import { BlockList, isIP } from 'node:net';
import { hostname } from 'node:os';

export interface Outside {
  /** The address that people open, where it is not the one listened on. */
  readonly address: URL | null;
  /** Host names besides the address and this machine's own. */
  readonly hosts: ReadonlySet<string>;
  /** Proxies whose X-Forwarded-For and X-Forwarded-Proto are believed. */
  readonly proxies: BlockList;
}

/** A setting that means nothing; the message says which and why. */
export class BadSetting extends Error {
  override readonly name = 'BadSetting';
}

export const onlyHere: Outside = { address: null, hosts: new Set(), proxies: new BlockList() };

const listed = (text: string | undefined): string[] =>
  (text ?? '')
    .split(',')
    .map((part) => part.trim())
    .filter((part) => part !== '');

function addressOf(text: string | undefined): URL | null {
  if (text === undefined || text === '') return null;
  const address = URL.canParse(text) ? new URL(text) : null;
  if (address === null || !/^https?:$/.test(address.protocol) || address.pathname !== '/')
    throw new BadSetting(
      `PUBLIC_URL must be the address that people open, such as https://runtrue.example, not ${JSON.stringify(text)}.`,
    );
  return address;
}

function proxiesOf(text: string | undefined): BlockList {
  const proxies = new BlockList();
  for (const entry of listed(text)) {
    const [network = '', bits] = entry.split('/');
    const family = isIP(network);
    const most = family === 4 ? 32 : 128;
    if (family === 0 || (bits !== undefined && !(/^\d{1,3}$/.test(bits) && Number(bits) <= most)))
      throw new BadSetting(
        `TRUSTED_PROXIES must list IP addresses or networks such as 10.0.0.0/8, not ${JSON.stringify(entry)}.`,
      );
    const type = family === 4 ? 'ipv4' : 'ipv6';
    if (bits === undefined) proxies.addAddress(network, type);
    else proxies.addSubnet(network, Number(bits), type);
  }
  return proxies;
}

/** @throws BadSetting */
export function outsideOf(environment: Readonly<Record<string, string | undefined>>): Outside {
  const hosts = listed(environment.ALLOWED_HOSTS).map((host) => host.toLowerCase());
  for (const host of hosts)
    if (!/^[a-z0-9.-]+$/.test(host))
      throw new BadSetting(
        `ALLOWED_HOSTS must list host names without port, such as runtrue.example, not ${JSON.stringify(host)}.`,
      );
  return {
    address: addressOf(environment.PUBLIC_URL),
    hosts: new Set(hosts),
    proxies: proxiesOf(environment.TRUSTED_PROXIES),
  };
}

/** A name by which a browser finds this machine: an address that means "all of mine" is none. */
function reachableName(host: string): string {
  if (host === '0.0.0.0' || host === '::') return hostname();
  return host.includes(':') ? `[${host}]` : host;
}

/** Where people open the page of a server that listens there; for links that it prints. */
export const originOf = ({ address }: Outside, host: string, port: number | string): string =>
  address?.origin ?? `http://${reachableName(host)}:${port}`;

/** Which addresses a webhook may reach: a server inside a plant must not be made a way into that plant's network. */
import { lookup as lookUp } from 'node:dns';
import { BlockList, isIP, type LookupFunction } from 'node:net';
import { NotDelivered } from './send-deliveries.ts';

/** Special addresses (IANA registries of special-purpose addresses, from memory), with the clouds' metadata among them. */
const special: readonly (readonly [string, number])[] = [
  ['0.0.0.0', 8],
  ['10.0.0.0', 8],
  ['100.64.0.0', 10],
  ['127.0.0.0', 8],
  ['169.254.0.0', 16],
  ['172.16.0.0', 12],
  ['192.0.0.0', 24],
  ['192.168.0.0', 16],
  ['198.18.0.0', 15],
  ['224.0.0.0', 4],
  ['240.0.0.0', 4],
  ['::', 128],
  ['::1', 128],
  ['64:ff9b:1::', 48],
  ['fc00::', 7],
  ['fe80::', 10],
  ['ff00::', 8],
];
/** Never, whatever is listed: there machines hand out their own credentials. */
const never: readonly (readonly [string, number])[] = [
  ['169.254.0.0', 16],
  ['fe80::', 10],
  ['fd00:ec2::254', 128],
  ['100.100.100.200', 32],
];

const familyOf = (address: string): 'ipv4' | 'ipv6' => (isIP(address) === 6 ? 'ipv6' : 'ipv4');

function blockList(subnets: readonly (readonly [string, number])[]): BlockList {
  const list = new BlockList();
  for (const [address, bits] of subnets) list.addSubnet(address, bits, familyOf(address));
  return list;
}

/** An IPv6 address that carries an IPv4 one reaches the IPv4 one. */
function plainAddress(address: string): string {
  const mapped = /^(?:::ffff:|64:ff9b::)(\d+\.\d+\.\d+\.\d+)$/i.exec(address);
  if (mapped !== null) return mapped[1]!;
  const hex = /^(?:::ffff:|64:ff9b::)([\da-f]{1,4}):([\da-f]{1,4})$/i.exec(address);
  if (hex === null) return address;
  const [high, low] = [Number.parseInt(hex[1]!, 16), Number.parseInt(hex[2]!, 16)];
  return [high >> 8, high & 255, low >> 8, low & 255].join('.');
}

/** Throws where an address may not be reached. */
export type AddressRule = (address: string) => void;

/** @param allowed Addresses and subnets of the plant's own network, as "10.1.2.3, 10.2.0.0/16". */
export function addressRule(allowed: string): AddressRule {
  const subnets = allowed
    .split(/[\s,]+/)
    .filter((entry) => entry !== '')
    .map((entry) => {
      const [address = '', bits, ...more] = entry.split('/');
      const most = isIP(address) === 6 ? 128 : 32;
      const length = bits === undefined ? most : /^\d{1,3}$/.test(bits) ? Number(bits) : Number.NaN;
      if (isIP(address) === 0 || !(length <= most) || more.length > 0) {
        throw new RangeError(`${JSON.stringify(entry)} is no address and no subnet such as 10.2.0.0/16`);
      }
      return [address, length] as const;
    });
  const [allowList, specialList, neverList] = [blockList(subnets), blockList(special), blockList(never)];
  return (given) => {
    const address = plainAddress(given);
    const family = familyOf(address);
    const isAllowed = allowList.check(address, family) || !specialList.check(address, family);
    if (isAllowed && !neverList.check(address, family)) return;
    throw new NotDelivered(
      'The address lies in a private or special network; whoever runs the server may list it in WEBHOOK_NETWORKS.',
      true,
    );
  };
}

/** Looks a name up and checks the very address that is then connected to. */
export const guardedLookup =
  (rule: AddressRule): LookupFunction =>
  (host, options, done) => {
    lookUp(host, { ...options, all: true }, (error, addresses) => {
      if (error !== null) return done(error, [], 0);
      try {
        for (const { address } of addresses) rule(address);
      } catch (refused) {
        return done(refused as NodeJS.ErrnoException, [], 0);
      }
      if (options.all) return done(null, addresses);
      done(null, addresses[0]!.address, addresses[0]!.family);
    });
  };

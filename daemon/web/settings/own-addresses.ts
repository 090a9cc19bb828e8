/** The addresses of this machine at which a phone of the same network can reach it. */

import { BlockList, isIP, isIPv6 } from 'node:net';
import { networkInterfaces } from 'node:os';
import type { OwnAddress, ServedAt } from '../../wire/settings.ts';
import type { OtherName } from '../guard.ts';

type Interfaces = ReturnType<typeof networkInterfaces>;

/** Networks that no router of the internet leads to: RFC 1918, and RFC 4193 for IPv6. */
const privateNetworks = new BlockList();
privateNetworks.addSubnet('10.0.0.0', 8, 'ipv4');
privateNetworks.addSubnet('172.16.0.0', 12, 'ipv4');
privateNetworks.addSubnet('192.168.0.0', 16, 'ipv4');
privateNetworks.addSubnet('fc00::', 7, 'ipv6');

const loopback = new BlockList();
loopback.addSubnet('127.0.0.0', 8, 'ipv4');
loopback.addAddress('::1', 'ipv6');

const isIn = (list: BlockList, address: string): boolean =>
  list.check(address, isIPv6(address) ? 'ipv6' : 'ipv4');

/** One way of writing for each address. */
function plain(address: string): string {
  return isIPv6(address) ? new URL(`http://[${address}]`).hostname.slice(1, -1) : address;
}

/** Private addresses to be offered, those of IPv4 first; a public one is for who knows what it means. */
export function ownAddresses(interfaces: Interfaces = networkInterfaces()): OwnAddress[] {
  const all = Object.entries(interfaces).flatMap(([network, entries = []]) =>
    entries
      .filter(({ internal, address }) => !internal && isIn(privateNetworks, address))
      .map(({ address }) => ({ address: plain(address), network })),
  );
  const rank = ({ address }: OwnAddress): number => (isIPv6(address) ? 1 : 0);
  return all.toSorted((left, right) => rank(left) - rank(right));
}

/** Where others find the page; an address that the machine does not have at the moment leads nowhere. */
export function servedAt(
  others: readonly OtherName[],
  interfaces: Interfaces = networkInterfaces(),
): ServedAt[] {
  const here = new Set(
    Object.values(interfaces).flatMap((entries = []) => entries.map((one) => plain(one.address))),
  );
  const present = (name: string): boolean =>
    isIP(name) === 0 || isIn(loopback, name) || here.has(plain(name));
  return others.map(({ name, url }) => ({ url, present: present(name) }));
}

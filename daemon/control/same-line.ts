/** Whether two lines lead to one port, or two answers come from one supply, whatever its names. */

import { lookup } from 'node:dns/promises';
import { realpathSync } from 'node:fs';
import { BlockList, isIPv4, isIPv6 } from 'node:net';
import { networkInterfaces } from 'node:os';
import type { RectifierIdentity } from '../../drivers/contract.ts';
import type { LinkSettings, SensorLinkSettings } from '../settings/model.ts';

type Line = LinkSettings | SensorLinkSettings;

/** `unknown` where the second line's host has the port but cannot be looked up. */
export type Sameness = 'same' | 'other' | 'unknown';

const thisComputer = 'this computer';

const loopback = new BlockList();
loopback.addSubnet('127.0.0.0', 8, 'ipv4');
loopback.addAddress('0.0.0.0', 'ipv4');
loopback.addAddress('::1', 'ipv6');
loopback.addAddress('::', 'ipv6');

/** An address in the one way of writing it; every address of this computer is one. */
function plainAddress(address: string): string {
  const [bare = address] = address.toLowerCase().split('%');
  const plain = isIPv6(bare) ? withoutMapping(new URL(`http://[${bare}]`).hostname) : bare;
  const family = isIPv4(plain) ? 'ipv4' : 'ipv6';
  const own = Object.values(networkInterfaces()).flatMap((all) => all ?? []);
  const here = loopback.check(plain, family) || own.some((one) => one.address === plain);
  return here ? thisComputer : plain;
}

/** ::ffff:7f00:1 is 127.0.0.1, RFC 4291 section 2.5.5.2. */
function withoutMapping(hostname: string): string {
  const ipv6 = hostname.slice(1, -1);
  const mapped = /^::ffff:([0-9a-f]{1,4}):([0-9a-f]{1,4})$/.exec(ipv6);
  if (mapped === null) return ipv6;
  return mapped
    .slice(1)
    .map((half) => Number.parseInt(half, 16))
    .map((half) => `${half >> 8}.${half & 255}`)
    .join('.');
}

/** Every address of a host; null where it cannot be looked up. */
async function addressesOf(host: string): Promise<ReadonlySet<string> | null> {
  try {
    const found = await lookup(host.replace(/^\[(.*)\]$/, '$1'), { all: true });
    return new Set(found.map(({ address }) => plainAddress(address)));
  } catch {
    return null;
  }
}

function deviceOf(path: string): string {
  try {
    return realpathSync(path);
  } catch {
    return path;
  }
}

/** Compares a line that is asked for with one in service. Never rejects. */
export async function compareLines(wanted: Line, inService: Line): Promise<Sameness> {
  if (wanted.kind === 'serial' && inService.kind === 'serial') {
    return deviceOf(wanted.path) === deviceOf(inService.path) ? 'same' : 'other';
  }
  if (wanted.kind !== 'tcp' || inService.kind !== 'tcp') return 'other';
  if (wanted.port !== inService.port) return 'other';
  if (wanted.host.toLowerCase() === inService.host.toLowerCase()) return 'same';
  const [asked, known] = await Promise.all(
    [wanted, inService].map(({ host }) => addressesOf(host)),
  );
  if (!asked || !known) return 'unknown';
  return [...asked].some((address) => known.has(address)) ? 'same' : 'other';
}

/** A serial number tells supplies apart; nothing, and nothing but zeros, does not. */
const tellsApart = (serial: string): boolean => /[^0\s.-]/.test(serial);

/** Compares a supply that answers with one in service; `unknown` where it gives no serial number. */
export function compareSupplies(
  answers: RectifierIdentity,
  inService: RectifierIdentity,
): Sameness {
  const fields = ['maker', 'model', 'serial'] as const;
  if (fields.every((field) => inService[field] === '')) {
    return answers.text === inService.text ? 'unknown' : 'other';
  }
  // Some write their name in capitals on one of their ports only.
  const alike = fields.every(
    (field) => answers[field].toLowerCase() === inService[field].toLowerCase(),
  );
  if (!alike) return 'other';
  return tellsApart(inService.serial) ? 'same' : 'unknown';
}

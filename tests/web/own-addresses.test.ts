/** Which addresses of a machine are offered to a phone, and where the page is found from elsewhere. */

import type { NetworkInterfaceInfo } from 'node:os';
import { describe, expect, it } from 'vitest';
import { AccessList } from '../../daemon/web/guard.ts';
import { ownAddresses, servedAt } from '../../daemon/web/settings/own-addresses.ts';

function entry(address: string, internal = false): NetworkInterfaceInfo {
  const common = { address, netmask: '', mac: '00:00:00:00:00:00', internal, cidr: null };
  return address.includes(':')
    ? { ...common, family: 'IPv6', scopeid: 0 }
    : { ...common, family: 'IPv4' };
}

const machine = {
  lo: [entry('127.0.0.1', true), entry('::1', true)],
  wlan0: [entry('fe80::1'), entry('fd12:3456:789a::7'), entry('192.168.1.20')],
  eth0: [entry('10.0.0.4'), entry('2001:db8::4'), entry('203.0.113.9')],
  bridge: [entry('172.31.0.1'), entry('172.32.0.1'), entry('169.254.8.8')],
};

describe('addresses that are offered', () => {
  // RFC 1918: 10/8, 172.16/12 and 192.168/16. RFC 4193: fc00::/7. All others may be public, or lead nowhere.
  it('are those of private networks, the short ones first', () => {
    expect(ownAddresses(machine)).toEqual([
      { address: '192.168.1.20', network: 'wlan0' },
      { address: '10.0.0.4', network: 'eth0' },
      { address: '172.31.0.1', network: 'bridge' },
      { address: 'fd12:3456:789a::7', network: 'wlan0' },
    ]);
    expect(ownAddresses({ lo: machine.lo })).toEqual([]);
  });
});

describe('the address to type elsewhere', () => {
  function served(port: number, names: readonly string[], scheme: 'http' | 'https') {
    const list = new AccessList();
    list.open(port, names, scheme);
    return servedAt(list.others, machine);
  }

  it('has scheme and port, and brackets where it needs them', () => {
    const names = ['192.168.1.20', 'fd12:3456:789a:0:0:0:0:7', 'bench.home.arpa'];
    expect(served(29_635, names, 'http')).toEqual([
      { url: 'http://192.168.1.20:29635', present: true },
      { url: 'http://[fd12:3456:789a::7]:29635', present: true },
      { url: 'http://bench.home.arpa:29635', present: true },
    ]);
  });

  it('leaves out the port that a browser takes by itself', () => {
    expect(served(443, ['192.168.1.20'], 'https')).toEqual([
      { url: 'https://192.168.1.20', present: true },
    ]);
    expect(served(443, ['192.168.1.20'], 'http')).toEqual([
      { url: 'http://192.168.1.20:443', present: true },
    ]);
  });

  it('that the machine does not have now is told as such, and every address at once is none', () => {
    expect(served(29_635, ['192.168.1.99', '0.0.0.0', '::'], 'http')).toEqual([
      { url: 'http://192.168.1.99:29635', present: false },
    ]);
  });
});

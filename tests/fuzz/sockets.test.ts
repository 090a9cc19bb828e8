/** Spoiled upgrades and frames against the real live socket on loopback: the server answers or hangs up, and serves on. */

import { connect } from 'node:net';
import { expect, test } from 'vitest';
import { WebSocket } from 'ws';
import { webUnderTest, type WebUnderTest } from '../web/fixture.ts';
import { effort, Findings, patienceMs, polluted, seed } from './effort.ts';
import { Chance, spoil } from './random.ts';

const crlf = '\r\n';
const dictionary = [
  crlf,
  '\n',
  ':',
  ' ',
  '\0',
  'Upgrade: websocket\r\n',
  'Host: evil.example\r\n',
  'Content-Length: 5\r\n',
  'Transfer-Encoding: chunked\r\n',
  'HTTP/1.0',
  'Sec-WebSocket-Version: 99\r\n',
  '%00',
  '/../',
  '\xff',
];
/** A connection on which nothing happens for so long is hung up by us, ms. */
const quietMs = 250;

function upgrade(web: WebUnderTest): string {
  const lines = [
    'GET /api/live HTTP/1.1',
    `Host: ${web.host}`,
    `Origin: http://${web.host}`,
    'Connection: Upgrade',
    'Upgrade: websocket',
    'Sec-WebSocket-Version: 13',
    'Sec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==',
  ];
  return `${lines.join(crlf)}${crlf}${crlf}`;
}

/** A frame of any kind: sound or not, masked or not, with a length that tells the truth or does not. */
function aFrame(chance: Chance): Buffer {
  const payload = Buffer.from(chance.bytes(chance.next() < 0.05 ? 40_000 : 130), 'latin1');
  const first = chance.next() < 0.6 ? 0x80 | chance.one([0, 1, 2, 8, 9, 10]) : chance.below(256);
  const masked = chance.next() < 0.8;
  const said =
    chance.next() < 0.85
      ? payload.length
      : chance.one([0, 125, 126, 127, 65_535, 2 ** 31, 2 ** 53]);
  const mask = masked ? 0x80 : 0;
  const head = Buffer.alloc(said < 126 ? 2 : said < 65_536 ? 4 : 10);
  head[0] = first;
  if (said < 126) head[1] = mask | said;
  else if (said < 65_536) {
    head[1] = mask | 126;
    head.writeUInt16BE(said, 2);
  } else {
    head[1] = mask | 127;
    head.writeBigUInt64BE(BigInt(said), 2);
  }
  const key = Buffer.from([1, 2, 3, 4]);
  const body = masked
    ? Buffer.concat([key, payload.map((byte, index) => byte ^ (key[index % 4] ?? 0))])
    : payload;
  return Buffer.concat([head, body]);
}

/** Sends bytes and frames, and tells what the server did: refused, opened, closed or kept quiet. */
function converse(port: number, request: string, frames: readonly Buffer[]): Promise<string> {
  return new Promise((resolve) => {
    let received = '';
    let closed = false;
    const socket = connect(port, '127.0.0.1');
    const end = (): void => {
      clearTimeout(timer);
      socket.destroy();
      const [status] = /(?<=^HTTP\/1\.1 )\d{3}/.exec(received) ?? [];
      if (received === '') resolve(closed ? 'hung up' : 'waited for more');
      else resolve(status ?? 'no status');
    };
    let timer = setTimeout(end, quietMs);
    socket.on('connect', () => {
      socket.write(Buffer.from(request, 'latin1'));
      for (const frame of frames) socket.write(frame);
    });
    socket.on('data', (bytes) => {
      received = (received + bytes.toString('latin1')).slice(0, 2_000);
      clearTimeout(timer);
      timer = setTimeout(end, quietMs);
    });
    socket.on('error', () => undefined);
    socket.on('close', () => {
      closed = true;
      end();
    });
  });
}

/** A page of our own is welcomed as ever. */
function welcomed(web: WebUnderTest): Promise<boolean> {
  return new Promise((resolve) => {
    const page = new WebSocket(`ws://${web.host}/api/live`, { origin: `http://${web.host}` });
    page.on('message', (data: Buffer) => {
      page.close();
      resolve(data.toString().includes('"type":"bench"'));
    });
    page.on('error', () => resolve(false));
  });
}

test('sockets: spoiled upgrades and frames', { timeout: patienceMs }, async () => {
  const web = await webUnderTest();
  const chance = new Chance(seed);
  const findings = new Findings('live sockets');
  const sound = upgrade(web);
  const atOnce = 16;
  const rounds = Math.ceil(effort('BODIES', 0.05, 128) / atOnce);
  for (let round = 0; round < rounds; round += 1) {
    const tries = Array.from({ length: atOnce }, () => {
      const request = chance.next() < 0.5 ? sound : spoil(chance, sound, dictionary);
      return { request, frames: Array.from({ length: chance.below(6) }, () => aFrame(chance)) };
    });
    // oxlint-disable-next-line no-await-in-loop
    const ends = await Promise.all(tries.map((one) => converse(web.port, one.request, one.frames)));
    for (const [index, end] of ends.entries()) {
      findings.count(end);
      if (end.startsWith('5') || end === 'no status') findings.add(end, tries[index]?.request);
    }
    if (polluted()) findings.add('reached a prototype', tries[0]?.request);
    // oxlint-disable-next-line no-await-in-loop
    if (!(await welcomed(web))) findings.add('a page is not served any more', tries);
  }
  await expect.poll(() => web.hub.clients, { timeout: 5_000 }).toBe(0);
  findings.tell();
});

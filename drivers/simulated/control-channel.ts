/**
 * A side door for tests in another process: JSON lines over loopback TCP that switch faults and
 * read the truth, so that the serial line itself carries nothing but the supply's own language.
 */

import { createServer, type Socket } from 'node:net';
import * as z from 'zod';
import { faultNames, isFaultName } from './faults.ts';
import type { SimulatedInstrument } from './instrument.ts';
import type { TcpServing } from './serve.ts';

/** A request longer than this is not a request. */
const longestLine = 16_384;

const requestSchema = z.union([
  /**
   * `{ "fault": name, "on": true, ...parameters }`; for the output key `on` is the state it leads
   * to.
   */
  z.looseObject({ fault: z.string(), on: z.boolean().optional() }),
  /** `{ "truth": true }` */
  z.strictObject({ truth: z.literal(true) }),
  /** `{ "clear": true }` switches every fault off. */
  z.strictObject({ clear: z.literal(true) }),
]);

function answer(instrument: SimulatedInstrument, line: string, nowMs: number): object {
  let json: unknown;
  try {
    json = JSON.parse(line);
  } catch {
    return { ok: false, error: 'not a line of JSON' };
  }
  const parsed = requestSchema.safeParse(json);
  if (!parsed.success) {
    return {
      ok: false,
      error: 'send {"fault": name, "on": bool, …}, {"truth": true} or {"clear": true}',
    };
  }
  const request = parsed.data;
  if ('fault' in request) return switchFault(instrument, request, nowMs);
  if ('truth' in request) return { ok: true, truth: instrument.truth(nowMs) };
  instrument.faults.clearAll(nowMs);
  return { ok: true, faults: instrument.faults.active() };
}

function switchFault(
  instrument: SimulatedInstrument,
  request: { readonly fault: string; readonly on?: boolean | undefined },
  nowMs: number,
): object {
  const { fault, on, ...others } = request;
  if (!isFaultName(fault)) {
    return { ok: false, error: `fault ${fault} is not one of ${faultNames.join(', ')}` };
  }
  const parameters = fault === 'outputKey' && on !== undefined ? { ...others, on } : others;
  if (on === false && fault !== 'outputKey') {
    instrument.faults.clear(fault, nowMs);
    return { ok: true, faults: instrument.faults.active() };
  }
  try {
    instrument.faults.setUnchecked(fault, parameters, nowMs);
  } catch (error) {
    return { ok: false, error: error instanceof Error ? error.message : String(error) };
  }
  return { ok: true, faults: instrument.faults.active() };
}

function serveLines(socket: Socket, onLine: (line: string) => object): void {
  let text = '';
  socket.setEncoding('utf8');
  socket.on('error', () => socket.destroy());
  socket.on('data', (piece: string) => {
    text += piece;
    for (let end = text.indexOf('\n'); end >= 0; end = text.indexOf('\n')) {
      const line = text.slice(0, end).trim();
      text = text.slice(end + 1);
      if (line !== '') socket.write(`${JSON.stringify(onLine(line))}\n`);
    }
    if (text.length > longestLine) socket.destroy();
  });
}

/** Opens the side door on loopback; every request line gets one line of answer. */
export function serveControl(
  instrument: SimulatedInstrument,
  options: { readonly port: number; readonly nowMs: () => number },
): Promise<TcpServing> {
  const sockets = new Set<Socket>();
  const server = createServer((socket) => {
    sockets.add(socket);
    socket.on('close', () => sockets.delete(socket));
    serveLines(socket, (line) => answer(instrument, line, options.nowMs()));
  });
  function close(): Promise<void> {
    for (const socket of sockets) socket.destroy();
    return new Promise((resolve) => {
      server.close(() => resolve());
    });
  }
  return new Promise((resolve, reject) => {
    server.once('error', reject);
    server.listen(options.port, '127.0.0.1', () => {
      const address = server.address();
      resolve({ port: typeof address === 'object' && address !== null ? address.port : 0, close });
    });
  });
}

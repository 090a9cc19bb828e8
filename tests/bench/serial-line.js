/** A pseudo-terminal with a supply at its far end, the driver on it, and a plain exchange beside. */

import { existsSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { ReadlineParser, SerialPort } from 'serialport';
import { loadDialect } from '../../dist/daemon/settings/door.js';
import { createSerialLink } from '../../dist/drivers/link/serial.js';
import { parseDialect, systemClock } from '../../dist/drivers/registry.js';
import { createScpiRectifier } from '../../dist/drivers/scpi/driver.js';
import { median } from './measure.js';
import { end, isThere, root, scratchFolder, start, until } from './workshop.js';

const supplyFile = fileURLToPath(new URL('supply.js', import.meta.url));
const dialect = parseDialect(loadDialect('scpi-subsystem', {}, join(root, 'config/bench.toml')));

/** Why there can be no pseudo-terminal here; null when there can. */
export const noLine = isThere('socat')
  ? null
  : 'socat, which makes the pseudo-terminal, is missing';

/** Joins two pseudo-terminals and puts the supply at the far one. */
export async function openLine(baudRate) {
  const folder = scratchFolder();
  const near = join(folder, 'near');
  const far = join(folder, 'far');
  const ends = [near, far].map((path) => `pty,raw,echo=0,link=${path}`);
  const cable = start('socat', ends);
  await until('the pseudo-terminals', () => existsSync(near) && existsSync(far));
  const supply = start(process.execPath, [supplyFile, far, String(baudRate)]);
  await until('the supply', () => supply.stdout.read() !== null);
  return {
    path: near,
    async close() {
      await end(cable);
      await end(supply);
    },
  };
}

/** The real driver on a serial port, its output on; the link counts the bytes. */
export async function connectDriver(path, baudRate) {
  const { settleMs: _settle, preamble: _preamble, ...line } = dialect.link;
  const { terminator, maxBytes } = dialect.rx;
  const framing = { kind: 'lines', terminator, maxBytes };
  const link = createSerialLink({ ...line, path, baudRate }, systemClock, framing);
  const rectifier = createScpiRectifier({
    dialect,
    link,
    baudRate,
    path,
    clock: systemClock,
    expectIdentity: null,
    hardLimits: { maxVolts: 6, maxAmps: 0.5 },
    simulated: false,
  });
  await rectifier.connect();
  await rectifier.program({ volts: 3, amps: 0.25 });
  await rectifier.on();
  // The first poll after a change asks more than the usual one.
  await rectifier.read();
  return { rectifier, link };
}

/**
 * Usual polls, each with its time, ms, and the bytes that went both ways. Every few polls the driver
 * asks for the set-points as well; those are left out.
 */
export async function pollTimes({ rectifier, link }, count) {
  const { counters } = link;
  const polls = [];
  for (let poll = 0; poll < count; poll += 1) {
    const before = counters.bytesWritten + counters.bytesRead;
    const startMs = performance.now();
    await rectifier.read();
    const ms = performance.now() - startMs;
    polls.push({ ms, bytes: counters.bytesWritten + counters.bytesRead - before });
  }
  const usualBytes = median(polls.map(({ bytes }) => bytes));
  return polls.filter(({ bytes }) => bytes === usualBytes);
}

/** The line that a usual poll sends: the one that asks for the measured values. */
export async function pollLine({ rectifier, link }) {
  const sent = [];
  const write = link.write;
  link.write = (bytes) => {
    sent.push(bytes);
    return write.call(link, bytes);
  };
  await rectifier.read();
  delete link.write;
  const line = sent.find((text) => text.includes('MEAS:CURR?'));
  if (line === undefined) throw new Error(`No poll was seen: ${JSON.stringify(sent)}.`);
  return line;
}

/** A plain port and parser, as anybody would use them: one line out, one line back. */
export async function openPlainPort(path, baudRate) {
  const port = new SerialPort({ path, baudRate, autoOpen: false, hupcl: false });
  const parser = port.pipe(new ReadlineParser({ delimiter: '\n', encoding: 'latin1' }));
  await new Promise((resolve, reject) => {
    port.open((error) => (error ? reject(error) : resolve()));
  });
  return {
    exchange: (line) =>
      new Promise((resolve) => {
        parser.once('data', resolve);
        port.write(line);
      }),
    close: () =>
      new Promise((resolve, reject) => {
        port.close((error) => (error ? reject(error) : resolve()));
      }),
  };
}

/** Plain exchanges of one line, each with its time, ms, and the bytes that went both ways. */
export async function exchangeTimes(plain, line, count) {
  const exchanges = [];
  for (let exchange = 0; exchange < count; exchange += 1) {
    const startMs = performance.now();
    const reply = await plain.exchange(line);
    const ms = performance.now() - startMs;
    exchanges.push({ ms, bytes: line.length + reply.length + 1 });
  }
  return exchanges;
}

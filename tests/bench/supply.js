/** A small supply at one end of a pseudo-terminal whose replies take as long as on a serial wire. */

import { constants, openSync, readSync, writeSync } from 'node:fs';

/** Its arguments: the terminal, and the rate in bits a second; at 0 it answers at once. */
const [path, rate] = process.argv.slice(2);
const baudRate = Number(rate);
const line = openSync(path, constants.O_RDWR | constants.O_NOCTTY);
const state = { volts: 0, amps: 0.1, on: false, mask: 0 };

const bitsPerByte = 10;
/** A timer may be late by a millisecond, so the end of a wait is spent looking at the clock. */
const lookMs = 2;
const never = new Int32Array(new SharedArrayBuffer(4));

function answer(query) {
  const values = {
    '*IDN?': 'NIGHTBATH,SIM-30-5,SIM0001,1.0',
    '*ESE?': state.mask,
    '*ESR?': 0,
    'SYST:ERR?': '0,"No error"',
    'VOLT?': state.volts.toFixed(3),
    'CURR?': state.amps.toFixed(4),
    'VOLT? MAX': '30.000',
    'CURR? MAX': '5.0000',
    'MEAS:VOLT?': (state.on ? state.volts / 2 : 0).toFixed(3),
    'MEAS:CURR?': (state.on ? state.amps : 0).toFixed(4),
    'OUTP?': state.on ? 1 : 0,
    'STAT:QUES:COND?': state.on ? 1 : 0,
    'VOLT:PROT:TRIP?': 0,
    'CURR:PROT:TRIP?': 0,
  };
  return values[query] ?? '';
}

/** The replies to one line, joined; an empty text when it asked for nothing. */
function obey(text) {
  const replies = [];
  for (const unit of text.split(/;:?/)) {
    const [command, value] = unit.split(' ');
    if (unit.includes('?')) replies.push(answer(unit));
    else if (command === 'VOLT') state.volts = Number(value);
    else if (command === 'CURR') state.amps = Number(value);
    else if (command === 'OUTP') state.on = value === 'ON';
    else if (command === '*ESE') state.mask = Number(value);
  }
  return replies.length === 0 ? '' : `${replies.join(';')}\n`;
}

function holdUntil(dueMs) {
  const restMs = dueMs - performance.now() - lookMs;
  if (restMs > 0) Atomics.wait(never, 0, 0, restMs);
  while (performance.now() < dueMs);
}

function serve() {
  const buffer = Buffer.alloc(4096);
  let partial = '';
  for (;;) {
    const count = readSync(line, buffer);
    const atMs = performance.now();
    if (count === 0) return;
    partial += buffer.toString('latin1', 0, count);
    const lines = partial.split('\n');
    partial = lines.pop();
    let bytes = 0;
    for (const text of lines) {
      const reply = obey(text);
      bytes += text.length + 1 + reply.length;
      if (baudRate > 0) holdUntil(atMs + (bytes * bitsPerByte * 1000) / baudRate);
      if (reply !== '') writeSync(line, reply);
    }
  }
}

process.stdout.write('ready\n');
try {
  serve();
} catch (error) {
  // The other end of the terminal is gone, which is how it is told to end.
  if (error.code !== 'EIO') throw error;
}

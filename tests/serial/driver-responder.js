/** A small supply at one end of a pseudo-terminal: enough of the plain subsystem commands to be driven. */

import { closeSync, constants, openSync, read, writeSync } from 'node:fs';

const [path, identity = 'NIGHTBATH,SIM-30-5,SIM0001,1.0'] = process.argv.slice(2);
const line = openSync(path, constants.O_RDWR | constants.O_NOCTTY);
const state = { volts: 0, amps: 0.1, on: false, mask: 0 };

/** The value of one query. */
function answer(unit) {
  const values = {
    '*IDN?': identity,
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
  return values[unit];
}

function obey(text) {
  const replies = [];
  for (const unit of text.split(/;:?/)) {
    const [command, value] = unit.split(' ');
    if (unit.includes('?')) replies.push(answer(unit) ?? '');
    else if (command === 'VOLT') state.volts = Number(value);
    else if (command === 'CURR') state.amps = Number(value);
    else if (command === 'OUTP') state.on = value === 'ON';
    else if (command === '*ESE') state.mask = Number(value);
  }
  if (replies.length > 0) writeSync(line, `${replies.join(';')}\n`);
  process.stdout.write(`${text}\n`);
}

let partial = '';
const buffer = Buffer.alloc(4096);
function listen() {
  read(line, buffer, 0, buffer.length, null, (error, count) => {
    // The other side of the pseudo-terminal is gone.
    if (error !== null || count === 0) {
      closeSync(line);
      return;
    }
    partial += buffer.toString('latin1', 0, count);
    const lines = partial.split('\n');
    partial = lines.pop();
    for (const one of lines) if (one !== '') obey(one);
    listen();
  });
}
listen();
process.stdout.write('ready\n');

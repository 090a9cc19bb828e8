/** The built sentinel against a real pseudo-terminal: what the supply receives when control is lost. */

import {
  closeSync,
  constants,
  mkdirSync,
  mkdtempSync,
  openSync,
  realpathSync,
  rmSync,
  symlinkSync,
  writeSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import { SerialPort } from 'serialport';
import { afterAll, afterEach, beforeEach, describe, expect, it } from 'vitest';
import { readSentinelNotes } from '../../daemon/sentinel/door.ts';
import { until } from '../sentinel/stub-bench.ts';
import { lineScript } from '../sentinel/supply.ts';
import { Pty, PtySupply, SentinelProcess } from './sentinel-pty.ts';

/** A few each; `npm run trials` makes hundreds with the whole daemon. */
const trials = 3;

const folder = mkdtempSync(join(tmpdir(), 'nightbath-pty-'));
let pty = new Pty(folder);
let supply: PtySupply | null = null;
let sentinel: SentinelProcess | null = null;

beforeEach(async () => {
  pty = new Pty(mkdtempSync(join(folder, 'line-')));
  await pty.open();
  supply = new PtySupply(pty.far);
});
afterEach(async () => {
  await sentinel?.remove();
  sentinel = null;
  supply?.close();
  await pty.close();
});

afterAll(() => rmSync(folder, { recursive: true, force: true }));

const script = () => ({ ...lineScript, path: pty.near });
const guarded = () => ({ guard: { one: script() } });

function start(lives: readonly object[], more: object = {}): SentinelProcess {
  sentinel = new SentinelProcess(lives, more);
  return sentinel;
}

function theSupply(): PtySupply {
  if (supply === null) throw new Error('There is no supply.');
  return supply;
}

function report(name: string, delaysMs: readonly number[]): void {
  const sorted = delaysMs.toSorted((left, right) => left - right);
  const middle = sorted[Math.floor(sorted.length / 2)];
  console.log(`${name}: ${sorted.length} trials, median ${middle} ms, worst ${sorted.at(-1)} ms`);
}

describe('a supply on a line of its own', () => {
  it(
    'receives OFF within 500 ms of the death of control, every time',
    { timeout: 600_000 },
    async () => {
      const delaysMs: number[] = [];
      for (let trial = 0; trial < trials; trial += 1) {
        const running = start([guarded(), {}]);
        await until(() => running.has('control heard guarding'));
        theSupply().outputOn = true;
        const before = theSupply().offs.length;
        const killedMs = Date.now();
        process.kill(running.controlPid(), 'SIGKILL');
        await until(() => theSupply().offs.length > before);
        delaysMs.push((theSupply().offs[before] ?? Infinity) - killedMs);
        await until(() => running.has('control born', 2));
        expect(theSupply().outputOn).toBe(false);
        expect(readSentinelNotes(running.noteFile)[0]?.tanks[0]?.offConfirmed).toBe(true);
        await running.remove();
      }
      report('killed', delaysMs);
      expect(Math.max(...delaysMs)).toBeLessThan(500);
    },
  );

  it(
    'receives OFF within 1.2 s of control being stopped or stuck',
    { timeout: 600_000 },
    async () => {
      const delaysMs: number[] = [];
      for (let trial = 0; trial < trials; trial += 1) {
        const running = start([guarded(), {}]);
        await until(() => running.has('control heard guarding'));
        await wait(100);
        const before = theSupply().offs.length;
        const stoppedMs = Date.now();
        process.kill(running.controlPid(), 'SIGSTOP');
        await until(() => theSupply().offs.length > before);
        delaysMs.push((theSupply().offs[before] ?? Infinity) - stoppedMs);
        await until(() => running.has('control born', 2));
        await running.remove();
      }
      report('hung', delaysMs);
      expect(Math.max(...delaysMs)).toBeLessThan(1_200);
    },
  );

  it('understands OFF after a command that was cut off in its middle', async () => {
    const running = start([guarded(), {}]);
    await until(() => running.has('control heard guarding'));
    const { O_WRONLY, O_NOCTTY } = constants;
    const other = openSync(pty.near, O_WRONLY | O_NOCTTY);
    writeSync(other, 'VOLT 2.');
    closeSync(other);
    process.kill(running.controlPid(), 'SIGKILL');
    await until(() => !theSupply().outputOn);
    expect(
      theSupply()
        .received.map(({ line }) => line)
        .slice(0, 2),
    ).toEqual(['VOLT 2.', 'OUTP OFF']);
  });

  it('is reached although a hung process still holds the lock of its port', async () => {
    const port = new SerialPort({ path: pty.near, baudRate: 9600, lock: true, hupcl: false });
    await new Promise<void>((resolve, reject) => {
      port.once('open', () => resolve());
      port.once('error', reject);
    });
    const running = start([guarded(), {}]);
    await until(() => running.has('control heard guarding'));
    process.kill(running.controlPid(), 'SIGKILL');
    await until(() => !theSupply().outputOn);
    await new Promise<void>((resolve) => {
      port.close(() => resolve());
    });
  });

  it('is not read while control lives', async () => {
    const running = start([guarded()]);
    await until(() => running.has('control heard guarding'));
    const port = new SerialPort({ path: pty.near, baudRate: 9600 });
    let heard = '';
    port.on('data', (bytes: Buffer) => (heard += bytes.toString()));
    await until(() => port.isOpen);
    for (let turn = 0; turn < 20; turn += 1) {
      port.write('OUTP?\n');
      await wait(15);
    }
    await until(() => heard.length === 40);
    expect(heard).toBe('1\n'.repeat(20));
    await new Promise<void>((resolve) => {
      port.close(() => resolve());
    });
  });

  it(
    'is switched off when it comes back after the cable was pulled',
    { timeout: 40_000 },
    async () => {
      const running = start([guarded(), {}], { budgets: { handOverMs: 20_000 } });
      await until(() => running.has('control heard guarding'));
      theSupply().close();
      supply = null;
      await pty.close();
      process.kill(running.controlPid(), 'SIGKILL');
      await until(() => running.errorText.includes('not confirmed'));
      expect(running.has('control born', 2)).toBe(false);
      await pty.open();
      supply = new PtySupply(pty.far);
      await until(() => !theSupply().outputOn);
      await until(() => running.has('control born', 2));
      expect(readSentinelNotes(running.noteFile)[0]?.tanks[0]?.offConfirmed).toBe(true);
    },
  );
});

describe('a supply that comes back under another path', () => {
  const reply = 'NIGHTBATH,TRIAL,1,1.0';
  const names = () => join(folder, 'by-id');
  const known = () => ({ ...script(), identity: { query: '\n*IDN?\n', reply } });

  /** Guarded under its path, with a lasting name beside; then the cable is pulled. */
  async function unplugged(): Promise<SentinelProcess> {
    rmSync(names(), { recursive: true, force: true });
    mkdirSync(names());
    symlinkSync(realpathSync(pty.near), join(names(), 'usb-trial'));
    const running = start([{ guard: { one: known() } }, {}], {
      budgets: { handOverMs: 20_000 },
      nameFolders: [names()],
    });
    await until(() => running.has('control heard guarding'));
    theSupply().close();
    supply = null;
    await pty.close();
    rmSync(join(names(), 'usb-trial'));
    return running;
  }

  /** Plugged in again, as the kernel's next free device. */
  async function pluggedIn(identity: string): Promise<{ line: Pty; at: PtySupply }> {
    const line = new Pty(mkdtempSync(join(folder, 'again-')));
    await line.open();
    const at = new PtySupply(line.far);
    at.identity = identity;
    return { line, at };
  }

  it('is found by its lasting name and switched off', { timeout: 40_000 }, async () => {
    const running = await unplugged();
    const { line, at } = await pluggedIn(reply);
    symlinkSync(realpathSync(line.near), join(names(), 'usb-trial'));
    process.kill(running.controlPid(), 'SIGKILL');
    await until(() => !at.outputOn);
    const heard = at.received.map(({ line: text }) => text).filter((text) => text !== '');
    expect(heard.slice(0, 2)).toEqual(['*IDN?', 'OUTP OFF']);
    await until(() => running.has('control born', 2));
    expect(readSentinelNotes(running.noteFile)[0]?.tanks[0]?.offConfirmed).toBe(true);
    at.close();
    await line.close();
  });

  it('is told from another device that has taken its path', { timeout: 40_000 }, async () => {
    const running = await unplugged();
    const stranger = await pluggedIn('SOMEBODY,ELSE,2,1.0');
    symlinkSync(realpathSync(stranger.line.near), pty.near);
    process.kill(running.controlPid(), 'SIGKILL');
    await until(() => running.errorText.includes('SOMEBODY,ELSE'));
    const { line, at } = await pluggedIn(reply);
    symlinkSync(realpathSync(line.near), join(names(), 'usb-trial'));
    await until(() => !at.outputOn);
    await until(() => running.has('control born', 2));
    // It was asked who it is, and was sent nothing else.
    expect(new Set(stranger.at.received.map(({ line: text }) => text))).toEqual(
      new Set(['', '*IDN?']),
    );
    expect(stranger.at.outputOn).toBe(true);
    for (const one of [stranger, { line, at }]) {
      one.at.close();
      await one.line.close();
    }
    rmSync(pty.near);
  });
});

describe('signals', () => {
  it.each(['SIGINT', 'SIGTERM', 'SIGHUP', 'SIGQUIT'] as const)(
    '%s closes in order and ends with 0',
    async (name) => {
      const running = start([guarded()]);
      await until(() => running.has('control heard guarding') && running.outputText !== '');
      running.signal(name);
      expect(await running.exited).toBe(0);
      expect(running.has('control heard shut-down')).toBe(true);
      expect(running.outputText).toBe('serving http://127.0.0.1:1\n');
    },
  );

  it('a second SIGINT kills a control that does not close, and OFF comes from the sentinel', async () => {
    const running = start([{ ...guarded(), ignoresShutDown: true }]);
    await until(() => running.has('control heard guarding'));
    running.signal('SIGINT');
    await until(() => running.has('control heard shut-down'));
    running.signal('SIGINT');
    expect(await running.exited).toBe(1);
    expect(theSupply().outputOn).toBe(false);
    expect(running.errorText).toContain('Forced');
  });

  it('end with 70 and a loud sentence when the supply is not there to confirm', async () => {
    const running = start([{ ...guarded(), offConfirmed: false }], {
      budgets: { lastAttemptsMs: 800 },
    });
    await until(() => running.has('control heard guarding'));
    theSupply().close();
    supply = null;
    await pty.close();
    running.signal('SIGTERM');
    expect(await running.exited).toBe(70);
    expect(running.errorText).toContain('THE OUTPUT COULD NOT BE CONFIRMED OFF');
  });

  it('the death of the sentinel itself is noticed by its children', async () => {
    const running = start([guarded()]);
    await until(() => running.has('control heard guarding'));
    const killedMs = Date.now();
    running.signal('SIGKILL');
    await until(() => running.has('control lost the sentinel'));
    const [lost] = running.entries('control lost the sentinel');
    expect((lost?.atMs ?? Infinity) - killedMs).toBeLessThan(500);
  });
});

/** The sentinel with stub children and a supply on TCP: deaths, hangs, OFF, restarts, exit codes. */

import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import {
  clearSentinelNotes,
  readSentinelNotes,
  startAnew,
  startSentinel,
} from '../../daemon/sentinel/door.ts';
import { StubBench, trialLimits, until } from './stub-bench.ts';
import { TcpSupply, holdingReport as holding, lineScript } from './supply.ts';

let bench = new StubBench();
let supply = await TcpSupply.listen();
beforeEach(async () => {
  bench = new StubBench();
  supply = await TcpSupply.listen();
});
afterEach(async () => {
  await bench.remove();
  await supply.close();
});

const guarded = () => ({ guard: { one: supply.script } });
const offs = () => supply.received.filter((line) => line === 'OUTP OFF').length;

describe('a sentinel whose children are well', () => {
  it('starts web after control is ready, says where the page is, and ends with 0', async () => {
    const sentinel = bench.start([{}]);
    await until(() => bench.served.length > 0);
    expect(bench.served).toEqual(['http://127.0.0.1:1']);
    sentinel.interrupt();
    expect(await sentinel.finished).toBe(0);
    expect(bench.has('control heard shut-down')).toBe(true);
    expect(bench.has('web heard shut-down')).toBe(true);
    expect(readSentinelNotes(bench.noteFile)).toEqual([]);
  });

  it('guards on request and never touches the supply while control lives', async () => {
    const sentinel = bench.start([guarded()]);
    await until(() => bench.has('control heard guarding'));
    sentinel.interrupt();
    expect(await sentinel.finished).toBe(0);
    expect(supply.connections).toBe(0);
  });

  it('tells with a guard how soon a hang is switched off: later on a slow bench', async () => {
    bench.start([{ ...guarded(), ways: { one: supply.script }, cycleMs: 1_000 }]);
    await until(() => bench.has('control heard guarding'));
    // A socket may take a second to be reached, beside the silence and the look at it.
    expect(bench.entries('control heard guarding')[0]?.hungOffMs).toBe(4_450);
  });

  it('tells no such time of a simulated supply, which ends with control', async () => {
    bench.start([{ guard: { one: { ...supply.script, path: null } } }]);
    await until(() => bench.has('control heard guarding'));
    expect(bench.entries('control heard guarding')[0]?.hungOffMs).toBeNull();
  });

  it.each([
    [{ ...lineScript, path: '/dev/nightbath-absent' }, /ENOENT/],
    [{ ...lineScript, path: '/etc/hostname' }, /not a device/],
    [{ ...lineScript, path: 'tcp://127.0.0.1' }, /tcp:\/\/host:port/],
    [{ ...lineScript, path: 'tcp://127.0.0.1:1', off: '' }, /empty/],
    [{ ...lineScript, verifyOffPattern: '(' }, /Invalid regular expression/],
  ])('says why it cannot guard %j', async (script, reason) => {
    bench.start([{ guard: { one: script } }]);
    await until(() => bench.has('control heard cannot-guard'));
    expect(bench.entries('control heard cannot-guard')[0]?.reason).toMatch(reason);
  });

  it('mentions nonsense from a child and goes on', async () => {
    const sentinel = bench.start([{ nonsense: true }]);
    await until(() => bench.said.some((sentence) => sentence.includes('not understood')));
    sentinel.interrupt();
    expect(await sentinel.finished).toBe(0);
  });
});

describe('when control dies', () => {
  it('sends OFF, verifies it, leaves a note and starts control again', async () => {
    const sentinel = bench.start([{ ...guarded(), exitAfterMs: 200 }, {}]);
    await until(() => bench.has('control born', 2));
    expect(supply.outputOn).toBe(false);
    expect(supply.received.slice(0, 1)).toEqual(['OUTP OFF']);
    expect(supply.received.filter((line) => line === 'OUTP?').length).toBeGreaterThanOrEqual(2);
    const [note] = readSentinelNotes(bench.noteFile);
    expect(note?.cause).toBe('died');
    expect(note?.found).toBe('The control process ended with exit code 3.');
    expect(note?.tanks).toEqual([expect.objectContaining({ tankId: 'one', offConfirmed: true })]);
    expect(bench.said.join('\n')).toContain('says that its output is off');
    clearSentinelNotes(bench.noteFile);
    expect(readSentinelNotes(bench.noteFile)).toEqual([]);
    sentinel.interrupt();
    expect(await sentinel.finished).toBe(0);
  });

  it('says SIGKILL when that was it, and lets web run on', async () => {
    bench.start([guarded(), {}]);
    await until(() => bench.has('control heard guarding') && bench.served.length > 0);
    process.kill(bench.entries('control born')[0]?.pid ?? 0, 'SIGKILL');
    await until(() => bench.has('control born', 2));
    expect(readSentinelNotes(bench.noteFile)[0]?.found).toContain('SIGKILL');
    expect(bench.entries('web born')).toHaveLength(1);
    await until(() => bench.served.length > 1);
  });

  it('ends a hung control within 1.2 s of its last beat and switches off', async () => {
    bench.start([{ ...guarded(), hangAfterMs: 200 }, {}]);
    await until(() => bench.has('control hangs'));
    const hungMs = bench.entries('control hangs')[0]?.atMs ?? 0;
    await until(() => offs() > 0);
    expect(Date.now() - hungMs).toBeLessThan(1_200);
    expect(Date.now() - hungMs).toBeGreaterThan(500);
    // Told with the guard, for the maker to read at arming; a socket may take a second to be reached.
    expect(bench.entries('control heard guarding')[0]?.hungOffMs).toBe(2_050);
    await until(() => bench.has('control born', 2));
    expect(readSentinelNotes(bench.noteFile)[0]?.cause).toBe('hung');
  });

  it('repeats OFF until the supply says off', async () => {
    supply.deafTo = 3;
    bench.start([{ ...guarded(), exitAfterMs: 100 }, {}]);
    await until(() => bench.has('control born', 2));
    expect(offs()).toBe(4);
    expect(supply.outputOn).toBe(false);
    expect(bench.said.join('\n')).toContain('it answers "1", which does not say off');
  });

  it('hands over to a new control after a while, with the note that OFF is not confirmed', async () => {
    supply.answers = false;
    const lives = [{ ...guarded(), exitAfterMs: 100 }, {}];
    const sentinel = bench.start(lives, {}, { handOverMs: 900, lastAttemptsMs: 500 });
    await until(() => bench.has('control born', 2));
    expect(readSentinelNotes(bench.noteFile)[0]?.tanks[0]).toMatchObject({ offConfirmed: false });
    expect(bench.said.join('\n')).toContain('NOT CONFIRMED OFF');
    // The new control confirms it by its own means and may close in order.
    sentinel.interrupt();
    expect(await sentinel.finished).toBe(0);
  });

  it('keeps its guard over an unconfirmed tank when the new control dies too', async () => {
    supply.answers = false;
    const lives = [{ ...guarded(), exitAfterMs: 100 }, { exitAfterMs: 100 }, {}];
    bench.start(lives, {}, { handOverMs: 300 });
    await until(() => bench.has('control born', 3));
    const notes = readSentinelNotes(bench.noteFile);
    expect(notes.map((note) => note.tanks[0]?.tankId)).toEqual(['one', 'one']);
  });

  it('does not send OFF for a tank that was released', async () => {
    bench.start([{ ...guarded(), releaseAfterMs: 50, exitAfterMs: 250 }, {}]);
    await until(() => bench.has('control born', 2));
    expect(supply.connections).toBe(0);
    expect(readSentinelNotes(bench.noteFile)[0]?.tanks).toEqual([]);
  });

  it('counts an in-process supply as off with its process', async () => {
    bench.start([{ guard: { one: lineScript }, exitAfterMs: 100 }, {}]);
    await until(() => bench.has('control born', 2));
    expect(readSentinelNotes(bench.noteFile)[0]?.tanks[0]).toMatchObject({ offConfirmed: true });
  });

  it('sends OFF three times to a supply that cannot tell its state, and says so', async () => {
    const mute = { ...supply.script, verifyQuery: null, verifyOffPattern: null };
    bench.start([{ guard: { one: mute }, exitAfterMs: 100 }, {}]);
    await until(() => bench.has('control born', 2));
    expect(offs()).toBe(3);
    expect(readSentinelNotes(bench.noteFile)[0]?.tanks[0]?.message).toContain('cannot tell');
  });

  it('gives up after too many restarts with 1, once the output is off', async () => {
    const budgets = { maxRestarts: 1, lastAttemptsMs: 400, handOverMs: 400 };
    const first = bench.start([{ ...guarded(), exitAfterMs: 50 }], {}, budgets);
    expect(await first.finished).toBe(1);
    expect(bench.entries('control born')).toHaveLength(2);
    expect(bench.said.at(-1)).toContain('gives up');
  });

  it('does not give up while an output is not off: it tries on, calls again, and ends when it is', async () => {
    const budgets = { maxRestarts: 1, lastAttemptsMs: 300, handOverMs: 300, tellAgainMs: 1_000 };
    supply.answers = false;
    const sentinel = bench.start([{ ...guarded(), exitAfterMs: 50 }], {}, budgets);
    const calls = () => bench.told.filter(({ title }) => title.includes('still not confirmed off'));
    await until(() => calls().length >= 2, 20_000);
    expect(calls()[0]).toMatchObject({ grave: true, text: expect.stringContaining('by hand') });
    const before = offs();
    await until(() => offs() > before, 10_000);
    supply.answers = true;
    expect(await sentinel.finished).toBe(1);
    expect(supply.outputOn).toBe(false);
    expect(readSentinelNotes(bench.noteFile).at(-1)?.tanks).toEqual([
      expect.objectContaining({ tankId: 'one', offConfirmed: true }),
    ]);
    expect(bench.told.at(-2)).toMatchObject({ grave: false, text: expect.stringContaining('off') });
  });

  it('tries no more where the supply cannot tell: it took OFF three times a round, and that ends with 70', async () => {
    const mute = { ...supply.script, verifyQuery: null, verifyOffPattern: null };
    const sentinel = bench.start(
      [{ guard: { one: mute }, exitAfterMs: 50 }],
      {},
      { maxRestarts: 0 },
    );
    expect(await sentinel.finished).toBe(70);
    expect(offs()).toBe(3);
  });

  it('leaves with 70 when somebody asks it to while it tries on', async () => {
    const budgets = { maxRestarts: 0, lastAttemptsMs: 300, handOverMs: 300 };
    supply.answers = false;
    const sentinel = bench.start([{ ...guarded(), exitAfterMs: 50 }], {}, budgets);
    await until(() => bench.has('control born') && offs() > 3, 20_000);
    sentinel.interrupt();
    expect(await sentinel.finished).toBe(70);
    expect(bench.said.at(-1)).toContain('by hand');
  });
});

describe('a control that oversteps a limit', () => {
  it('is left alone while its reports are within them', async () => {
    const sentinel = bench.start([{ ...guarded(), reports: [holding] }]);
    await until(() => bench.has('control heard guarding'));
    sentinel.interrupt();
    expect(await sentinel.finished).toBe(0);
    expect(bench.entries('control born')).toHaveLength(1);
  });

  it.each([
    [{ askedAmps: 3.5 }, '3.5 A were asked of the supply; the settings allow 3 A'],
    [{ runId: 'run-9' }, 'switched on for run-9'],
  ])('by %j is ended, and its output switched off', async (changes, words) => {
    const reports = [{ ...holding, ...changes }];
    bench.start([{ ...guarded(), reports, reportsAfterMs: 300 }, {}]);
    await until(() => bench.has('control born', 2));
    expect(supply.outputOn).toBe(false);
    const [note] = readSentinelNotes(bench.noteFile);
    expect(note?.cause).toBe('overstepped');
    expect(note?.found).toContain(words);
    expect(note?.tanks).toEqual([expect.objectContaining({ tankId: 'one', offConfirmed: true })]);
  });

  it('by a current that was never put under guard is ended, and switched off by the known way', async () => {
    bench.start([{ ways: { one: supply.script }, reports: [holding], reportsAfterMs: 200 }, {}]);
    await until(() => bench.has('control born', 2));
    expect(supply.outputOn).toBe(false);
    expect(readSentinelNotes(bench.noteFile)[0]?.found).toContain('the run under guard is none');
  });

  it('before it began is refused the guard', async () => {
    const bounds = { runId: 'run-1', maxAmps: 4, maxVolts: 5, maxDurationMs: 1e6 };
    bench.start([{ ...guarded(), bounds: { ...bounds, maxChargeAmpHours: 1 } }]);
    await until(() => bench.has('control heard cannot-guard'));
    expect(bench.entries('control heard cannot-guard')[0]?.reason).toContain('at most 3 A');
  });

  it('for a tank that is not in the settings is refused the guard', async () => {
    bench.start([{ guard: { two: supply.script } }]);
    await until(() => bench.has('control heard cannot-guard'));
    expect(bench.entries('control heard cannot-guard')[0]?.reason).toContain('no tank two');
  });
});

describe('a sleep of the computer', () => {
  const budgets = { afterSleepMs: 400 };

  it('after which control calls the output on still ends it, and switches off', async () => {
    bench.start([{ ...guarded(), reports: [holding] }, {}], {}, budgets);
    await until(() => bench.has('control heard guarding'));
    bench.asleepMs = 60_000;
    await until(() => bench.has('control born', 2));
    expect(supply.outputOn).toBe(false);
    expect(readSentinelNotes(bench.noteFile)[0]?.found).toContain('slept for 60 s');
  });

  it('after which control has switched off by itself is no hang', async () => {
    const reports = [{ ...holding, output: 'offRequested' }];
    const sentinel = bench.start([{ ...guarded(), reports }], {}, budgets);
    await until(() => bench.has('control heard guarding'));
    bench.asleepMs = 8 * 3_600_000;
    await wait(1_000);
    sentinel.interrupt();
    expect(await sentinel.finished).toBe(0);
    expect(bench.entries('control born')).toHaveLength(1);
    expect(offs()).toBe(0);
  });
});

describe('a supply that is met anew', () => {
  const named = () => ({
    ...supply.script,
    identity: { query: '\n*IDN?\n', reply: 'NIGHTBATH,TRIAL,1,1.0' },
  });

  it('is switched off when it answers as it did at arming', async () => {
    supply.identity = 'NIGHTBATH,TRIAL,1,1.0';
    bench.start([{ guard: { one: named() }, exitAfterMs: 200 }, {}]);
    await until(() => bench.has('control born', 2));
    expect(supply.received.slice(0, 2)).toEqual(['*IDN?', 'OUTP OFF']);
    expect(supply.outputOn).toBe(false);
  });

  it('is switched off when it echoes and takes its time', async () => {
    supply.identity = 'NIGHTBATH,TRIAL,1,1.0';
    supply.echoes = true;
    supply.replyAfterMs = 160;
    bench.start([{ guard: { one: named() }, exitAfterMs: 200 }, {}], {}, { handOverMs: 4_000 });
    await until(() => bench.has('control born', 2));
    expect(supply.outputOn).toBe(false);
  });

  it('is sent no OFF when it answers as somebody else', async () => {
    supply.identity = 'SOMEBODY,ELSE,2,1.0';
    bench.start([{ guard: { one: named() }, exitAfterMs: 200 }, {}], {}, { handOverMs: 1_500 });
    await until(() => bench.has('control born', 2));
    expect(offs()).toBe(0);
    expect(supply.outputOn).toBe(true);
    const message = readSentinelNotes(bench.noteFile)[0]?.tanks[0]?.message;
    expect(message).toContain('OFF could not be sent');
    expect(message).toContain('SOMEBODY,ELSE');
  });

  it('is sent OFF all the same when it keeps silent', async () => {
    bench.start([{ guard: { one: named() }, exitAfterMs: 200 }, {}]);
    await until(() => bench.has('control born', 2));
    expect(supply.outputOn).toBe(false);
  });
});

describe('a control that does not start', () => {
  it('ends with its message and its exit code', async () => {
    const cannotStart = { message: 'The settings are wrong.', exitCode: 78 };
    const sentinel = bench.start([{ cannotStart }]);
    expect(await sentinel.finished).toBe(78);
    expect(bench.said).toContain('The settings are wrong.');
    expect(bench.told).toEqual([
      { grave: false, title: 'Nightbath could not start', text: 'The settings are wrong.' },
    ]);
    expect(bench.has('web born')).toBe(false);
  });

  it('is ended when it is not ready in time, and given up in the end', async () => {
    const sentinel = bench.start([{ neverReady: true }], {}, { startUpMs: 1_000, maxRestarts: 1 });
    expect(await sentinel.finished).toBe(1);
    expect(bench.entries('control born')).toHaveLength(2);
    expect(readSentinelNotes(bench.noteFile)[0]?.cause).toBe('did-not-start');
  });

  it('is started again when it ends at once, a bounded number of times', async () => {
    const sentinel = bench.start([{ exitsAtOnce: 9 }], {}, { maxRestarts: 2 });
    expect(await sentinel.finished).toBe(1);
    expect(bench.entries('control born')).toHaveLength(3);
  });

  it('may be a script that is not there', async () => {
    const sentinel = startSentinel({
      controlScript: join(bench.folder, 'absent.js'),
      webScript: join(bench.folder, 'absent.js'),
      controlArguments: [],
      webArguments: [],
      env: process.env,
      noteFile: bench.noteFile,
      bookFile: bench.bookFile,
      hardLimits: trialLimits,
      slowestCycleMs: 250,
      onServing: () => {},
      say: (sentence) => bench.said.push(sentence),
      budgets: { maxRestarts: 0 },
    });
    expect(await sentinel.finished).toBe(1);
    expect(bench.said[0]).toBe('The control process ended with exit code 1.');
  });
});

describe('when web dies', () => {
  it('starts it again and leaves control alone', async () => {
    bench.start([guarded()]);
    await until(() => bench.served.length > 0);
    process.kill(bench.entries('web born')[0]?.pid ?? 0, 'SIGKILL');
    await until(() => bench.has('web born', 2) && bench.served.length > 1);
    expect(bench.entries('control born')).toHaveLength(1);
    expect(bench.said.join('\n')).toContain('Runs go on');
    // The port that it had is asked for again, so that an open page finds it.
    expect(bench.entries('web born').map(({ port }) => port)).toEqual([undefined, '1']);
    expect(offs()).toBe(0);
  });

  it('ends everything with its code when it cannot serve from the first', async () => {
    const cannotStart = { message: 'Port 1 is taken.', exitCode: 69 };
    const sentinel = bench.start([{}], { cannotStart });
    expect(await sentinel.finished).toBe(69);
    expect(bench.said).toContain('Port 1 is taken.');
    expect(bench.has('control heard shut-down')).toBe(true);
  });

  it('ends a web that does not end by itself', async () => {
    const sentinel = bench.start([{}], { ignoresShutDown: true }, { webShutDownMs: 100 });
    await until(() => bench.served.length > 0);
    sentinel.interrupt();
    expect(await sentinel.finished).toBe(0);
  });
});

describe('shutting down', () => {
  it('ends with 70 when control could not confirm OFF and nothing is held', async () => {
    const sentinel = bench.start([{ offConfirmed: false }]);
    await until(() => bench.served.length > 0);
    sentinel.interrupt();
    expect(await sentinel.finished).toBe(70);
    expect(bench.said.at(-1)).toContain('COULD NOT BE CONFIRMED OFF');
  });

  it('tries by itself where control could not confirm, and ends with 0 when that works', async () => {
    const sentinel = bench.start([{ ...guarded(), offConfirmed: false }]);
    await until(() => bench.has('control heard guarding'));
    sentinel.interrupt();
    expect(await sentinel.finished).toBe(0);
    expect(supply.outputOn).toBe(false);
  });

  it('takes exit code 70 of control for what it means', async () => {
    const sentinel = bench.start([{ endsWithoutWord: 70 }]);
    await until(() => bench.served.length > 0);
    sentinel.interrupt();
    expect(await sentinel.finished).toBe(70);
    expect(bench.told).toMatchObject([
      { grave: true, title: 'Nobody knows whether an output was left on' },
    ]);
  });

  it('kills a control that does not close in time, and switches off', async () => {
    const lives = [{ ...guarded(), ignoresShutDown: true }];
    const sentinel = bench.start(lives, {}, { shutDownMs: 200 });
    await until(() => bench.has('control heard guarding'));
    sentinel.interrupt();
    expect(await sentinel.finished).toBe(1);
    expect(supply.outputOn).toBe(false);
    expect(readSentinelNotes(bench.noteFile)[0]?.cause).toBe('hung');
  });

  it('is forced by a second interrupt: control is killed, OFF comes from the sentinel', async () => {
    const sentinel = bench.start([{ ...guarded(), ignoresShutDown: true }]);
    await until(() => bench.has('control heard guarding'));
    sentinel.interrupt();
    sentinel.interrupt();
    expect(await sentinel.finished).toBe(1);
    expect(supply.outputOn).toBe(false);
  });

  it('leaves with 70 at the third interrupt when the supply does not answer', async () => {
    supply.answers = false;
    const sentinel = bench.start([{ ...guarded(), ignoresShutDown: true }]);
    await until(() => bench.has('control heard guarding'));
    for (let turn = 0; turn < 3; turn += 1) sentinel.interrupt();
    expect(await sentinel.finished).toBe(70);
    expect(offs()).toBeGreaterThan(0);
  });

  it('ends a control that said stopped but stays', async () => {
    const sentinel = bench.start([{ staysAfterStopped: true }], {}, { lastWordMs: 200 });
    await until(() => bench.served.length > 0);
    sentinel.interrupt();
    expect(await sentinel.finished).toBe(0);
  });
});

describe('changed settings', () => {
  it('end the bench in order, to be started anew', async () => {
    const sentinel = bench.start([{ startsAnewAfterMs: 50 }]);
    expect(await sentinel.finished).toBe(startAnew);
    expect(bench.has('control heard shut-down')).toBe(true);
    expect(bench.has('web heard shut-down')).toBe(true);
    // Between two benches a signal is still heard.
    expect(sentinel.isInterrupted).toBe(false);
    sentinel.interrupt();
    expect(sentinel.isInterrupted).toBe(true);
  });

  it('wait while a line is held, whatever control believes', async () => {
    const sentinel = bench.start([{ ...guarded(), startsAnewAfterMs: 200 }]);
    await until(() => bench.has('control asked for a new start'));
    await wait(200);
    expect(bench.has('control heard shut-down')).toBe(false);
    sentinel.interrupt();
    expect(await sentinel.finished).toBe(0);
  });

  it('do not carry on past an output that nobody could confirm off', async () => {
    const sentinel = bench.start([{ offConfirmed: false, startsAnewAfterMs: 50 }]);
    expect(await sentinel.finished).toBe(70);
    expect(bench.told).toMatchObject([
      { grave: true, title: 'The output could not be confirmed off' },
    ]);
    expect(bench.entries('control born')).toHaveLength(1);
  });

  it('are taken over instead of a second control under the limits of the first', async () => {
    bench.settingsChanged = true;
    const sentinel = bench.start([{ ...guarded(), exitAfterMs: 200 }, {}]);
    expect(await sentinel.finished).toBe(startAnew);
    expect(bench.entries('control born')).toHaveLength(1);
    expect(supply.outputOn).toBe(false);
  });

  it('do not keep a bench that is told to end', async () => {
    bench.settingsChanged = true;
    const sentinel = bench.start([{ exitAfterMs: 300 }]);
    await until(() => bench.has('control born'));
    sentinel.interrupt();
    expect(await sentinel.finished).not.toBe(startAnew);
  });
});

/** What is asked of systemd: staying awake, and being told how we are; with its programs replaced by scripts. */

import { spawn } from 'node:child_process';
import { chmodSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { delimiter, join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import { afterAll, afterEach, beforeEach, describe, expect, it } from 'vitest';
import { ServiceManager, feedEveryMs } from '../../daemon/sentinel/service-manager.ts';
import { StayAwake, tryStayAwake } from '../../daemon/sentinel/stay-awake.ts';
import { StubBench, until } from './stub-bench.ts';
import { TcpSupply } from './supply.ts';

const folder = mkdtempSync(join(tmpdir(), 'nightbath-host-'));
const tools = join(folder, 'bin');
const log = join(folder, 'log');
mkdirSync(tools);
beforeEach(() => {
  for (const name of ['systemd-inhibit', 'systemd-notify'])
    rmSync(join(tools, name), { force: true });
  writeFileSync(log, '');
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const env = { ...process.env, PATH: [tools, '/usr/bin', '/bin'].join(delimiter), LOG: log };
const without = { ...process.env, PATH: tools };
const logged = () => readFileSync(log, 'utf8').split('\n').filter(Boolean);

function script(name: string, ...lines: readonly string[]): void {
  const path = join(tools, name);
  writeFileSync(path, ['#!/bin/sh', ...lines, ''].join('\n'));
  chmodSync(path, 0o755);
}

/** Runs the rest of its arguments as the real one does, and notes when it holds and lets go. */
const willing = [
  'echo "held $1 $2" >> "$LOG"',
  'while [ "${1#--}" != "$1" ]; do shift; done',
  '"$@"',
  'echo "let go" >> "$LOG"',
] as const;

describe('staying awake', () => {
  it('is held until it is let go, once for any number of tanks', async () => {
    script('systemd-inhibit', ...willing);
    const awake = new StayAwake(env);
    expect(await awake.hold()).toEqual({ held: true, reason: '' });
    expect(await awake.hold()).toEqual({ held: true, reason: '' });
    expect(logged()).toEqual(['held --what=sleep:idle:handle-lid-switch --mode=block']);
    awake.release();
    await until(() => logged().includes('let go'));
    expect((await awake.hold()).held).toBe(true);
    awake.release();
    await until(() => logged().length === 4);
  });

  it('is let go by the death of the process that held it', async () => {
    script('systemd-inhibit', ...willing);
    const path = new URL('../../dist/daemon/sentinel/stay-awake.js', import.meta.url).href;
    const code = `
      const { StayAwake } = await import(${JSON.stringify(path)});
      await new StayAwake(process.env).hold();
      process.kill(process.pid, 'SIGKILL');`;
    const child = spawn(process.execPath, ['--input-type=module', '-e', code], { env });
    await new Promise((resolve) => child.once('exit', resolve));
    await until(() => logged().includes('let go'));
  });

  it('that is refused says why, and is tried anew for the next run', async () => {
    script('systemd-inhibit', 'echo "Failed to inhibit: Access denied" >&2', 'exit 1');
    const awake = new StayAwake(env);
    const refused = { held: false, reason: 'Failed to inhibit: Access denied' };
    expect(await awake.hold()).toEqual(refused);
    expect(tryStayAwake(env)).toEqual(refused);
    script('systemd-inhibit', ...willing);
    expect((await awake.hold()).held).toBe(true);
    awake.release();
    expect(tryStayAwake(env)).toEqual({ held: true, reason: '' });
  });

  it('where there is no systemd is said to be missing, and is no fault', async () => {
    const absent = { held: false, reason: 'systemd-inhibit is not on this computer' };
    expect(await new StayAwake(without).hold()).toEqual(absent);
    expect(tryStayAwake(without)).toEqual(absent);
  });
});

describe('a sentinel with an armed line', () => {
  let bench = new StubBench();
  let supply: TcpSupply;
  beforeEach(async () => {
    bench = new StubBench();
    supply = await TcpSupply.listen();
  });
  afterEach(async () => {
    await bench.remove();
    await supply.close();
  });

  it('keeps the computer awake for as long as it guards', async () => {
    script('systemd-inhibit', ...willing);
    bench.env = env;
    bench.start([{ guard: { one: supply.script }, releaseAfterMs: 600 }]);
    await until(() => bench.has('control heard sleep'));
    expect(bench.entries('control heard sleep')[0]).toMatchObject({ held: true });
    await until(() => logged().includes('let go'));
    await until(() => bench.has('control released'));
  });

  it('tells control where it cannot, and guards all the same', async () => {
    bench.env = without;
    bench.start([{ guard: { one: supply.script } }]);
    await until(() => bench.has('control heard sleep'));
    expect(bench.has('control heard guarding')).toBe(true);
    const reason = 'systemd-inhibit is not on this computer';
    expect(bench.entries('control heard sleep')[0]).toMatchObject({ held: false, reason });
  });
});

describe('the service manager', () => {
  const asked = { ...env, NOTIFY_SOCKET: join(folder, 'notify'), WATCHDOG_USEC: '300000' };
  const note = 'echo "$1" >> "$LOG"';

  it('is told in order, and its dog is fed while all is well', async () => {
    script('systemd-notify', note);
    let well = true;
    const said: string[] = [];
    const manager = new ServiceManager({
      env: asked,
      isWell: () => well,
      say: (sentence) => said.push(sentence),
    });
    manager.ready();
    await until(() => logged().filter((word) => word === 'WATCHDOG=1').length >= 3);
    expect(logged().slice(0, 2)).toEqual(['WATCHDOG=1', 'READY=1']);
    well = false;
    // What was on its way may still arrive.
    let before = -1;
    while (logged().length !== before) {
      before = logged().length;
      await wait(400);
    }
    await wait(400);
    expect(logged()).toHaveLength(before);
    manager.stopping();
    manager.close();
    await until(() => logged().at(-1) === 'STOPPING=1');
    expect(said).toEqual([]);
  });

  it('that cannot be told is mentioned once', async () => {
    const said: string[] = [];
    const manager = new ServiceManager({
      env: { ...asked, PATH: tools },
      isWell: () => true,
      say: (sentence) => said.push(sentence),
    });
    manager.ready();
    await until(() => said.length > 0);
    await wait(300);
    manager.close();
    expect(said).toHaveLength(1);
    expect(said[0]).toContain('could not be told');
  });

  it('is told nothing where there is none', async () => {
    script('systemd-notify', note);
    const manager = new ServiceManager({ env, isWell: () => true, say: () => {} });
    manager.ready();
    manager.stopping();
    await wait(200);
    expect(logged()).toEqual([]);
  });

  it.each([
    [{}, null],
    [{ WATCHDOG_USEC: '' }, null],
    [{ WATCHDOG_USEC: '0' }, null],
    [{ WATCHDOG_USEC: 'soon' }, null],
    [{ WATCHDOG_USEC: '30000000' }, 10_000],
    [{ WATCHDOG_USEC: '30000000', WATCHDOG_PID: '7' }, 10_000],
    [{ WATCHDOG_USEC: '30000000', WATCHDOG_PID: '8' }, null],
  ])('with %j wants its dog fed every %s ms', (given, everyMs) => {
    expect(feedEveryMs(given, 7)).toBe(everyMs);
  });
});

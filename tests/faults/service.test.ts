/** The built sentinel under something that listens as systemd does: a datagram socket of this machine. */

import { spawn } from 'node:child_process';
import { chmodSync, existsSync, mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { delimiter, join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import { afterEach, beforeEach, expect, it } from 'vitest';
import { until } from '../sentinel/stub-bench.ts';
import { SentinelProcess } from './sentinel-pty.ts';

let folder = '';
let heard = '';
let listener: ReturnType<typeof spawn> | null = null;
let sentinel: SentinelProcess | null = null;
beforeEach(async () => {
  folder = mkdtempSync(join(tmpdir(), 'nightbath-notify-'));
  heard = '';
  listener = spawn('socat', ['-u', `UNIX-RECV:${join(folder, 'notify')}`, '-']);
  listener.stdout?.on('data', (bytes: Buffer) => (heard += bytes.toString()));
  await until(() => existsSync(join(folder, 'notify')));
});
afterEach(async () => {
  await sentinel?.remove();
  sentinel = null;
  listener?.kill('SIGKILL');
  rmSync(folder, { recursive: true, force: true });
});

/** Not systemd's own program: that one waits for a listener that closes what it is handed. */
function pathWithNotify(): string {
  const tools = join(folder, 'bin');
  mkdirSync(tools);
  const script = '#!/bin/sh\nprintf "%s\\n" "$1" | socat -u - "UNIX-SENDTO:$NOTIFY_SOCKET"\n';
  writeFileSync(join(tools, 'systemd-notify'), script);
  chmodSync(join(tools, 'systemd-notify'), 0o755);
  return [tools, process.env['PATH'] ?? ''].join(delimiter);
}

const fed = () => heard.split('WATCHDOG=1').length - 1;

it('says when it is ready, feeds the watchdog only while it works, and says that it leaves', async () => {
  const env = {
    PATH: pathWithNotify(),
    NOTIFY_SOCKET: join(folder, 'notify'),
    WATCHDOG_USEC: '600000',
  };
  const running = new SentinelProcess([{}], {}, env);
  sentinel = running;
  await until(() => heard.includes('READY=1') && fed() >= 3, 20_000);
  // Ready is what serves: the page's address has been said by then.
  expect(running.outputText).toContain('serving');
  running.signal('SIGSTOP');
  // What was on its way may still arrive.
  let before = -1;
  while (fed() !== before) {
    before = fed();
    await wait(400);
  }
  await wait(800);
  expect(fed()).toBe(before);
  running.signal('SIGCONT');
  await until(() => fed() > before);
  running.signal('SIGTERM');
  expect(await running.exited).toBe(0);
  await until(() => heard.includes('STOPPING=1'));
});

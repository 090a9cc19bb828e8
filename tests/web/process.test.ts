/** The web process itself, compiled and forked as the sentinel forks it. */

import { fork } from 'node:child_process';
import type { ChildProcess } from 'node:child_process';
import { once } from 'node:events';
import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, onTestFinished, test } from 'vitest';
import { packageRoot } from '../../daemon/settings/door.ts';
import { toSentinelSchema } from '../../daemon/wire/process.ts';
import type { ToSentinel } from '../../daemon/wire/process.ts';
import { takePort, temporaryFolder } from './fixture.ts';

const script = fileURLToPath(new URL('../../dist/daemon/web/main.js', import.meta.url));

interface Started {
  readonly child: ChildProcess;
  readonly messages: ToSentinel[];
  readonly ended: Promise<[code: number | null, signal: string | null]>;
}

/** The shipped settings on another port, with a state folder of their own, and files beside them. */
function start(
  port: number,
  change: (toml: string) => string = (toml) => toml,
  beside: Readonly<Record<string, string>> = {},
): Started {
  const folder = temporaryFolder();
  for (const [name, text] of Object.entries(beside)) writeFileSync(join(folder, name), text);
  const shipped = readFileSync(join(packageRoot(), 'config', 'bench.toml'), 'utf8');
  const file = join(folder, 'bench.toml');
  writeFileSync(file, change(shipped.replace(/^port = \d+$/m, `port = ${port}`)));
  const child = fork(script, ['--config', file], {
    env: { PATH: process.env['PATH'], HOME: folder, XDG_STATE_HOME: folder },
    execArgv: [],
    stdio: ['ignore', 'ignore', 'inherit', 'ipc'],
  });
  onTestFinished(() => void child.kill('SIGKILL'));
  const messages: ToSentinel[] = [];
  child.on('message', (message) => messages.push(toSentinelSchema.parse(message)));
  const ended: Started['ended'] = new Promise((resolve) => {
    child.once('exit', (code, signal) => resolve([code, signal]));
  });
  return { child, messages, ended };
}

async function listening(started: Started): Promise<string> {
  await Promise.race([once(started.child, 'message'), started.ended]);
  const [message] = started.messages;
  if (message?.kind !== 'listening') throw new Error(JSON.stringify(message));
  return message.url;
}

describe('the web process', () => {
  test('says where it serves, serves there without control, and ends with the sentinel', async () => {
    const started = start(0);
    const url = await listening(started);
    expect((await fetch(`${url}/healthz`)).status).toBe(200);
    expect(await (await fetch(`${url}/api/bench`)).json()).toMatchObject({
      controlAlive: false,
      tanks: [],
    });
    expect(await (await fetch(`${url}/api/runs`)).json()).toEqual([]);
    expect((await fetch(`${url}/readyz`)).status).toBe(503);
    started.child.disconnect();
    expect(await started.ended).toEqual([0, null]);
  });

  test('leaves Ctrl-C to the sentinel and ends at SIGTERM', async () => {
    const started = start(0);
    const url = await listening(started);
    started.child.kill('SIGINT');
    expect((await fetch(`${url}/healthz`)).status).toBe(200);
    started.child.kill('SIGTERM');
    expect(await started.ended).toEqual([0, null]);
  });

  test('ends when it is told to shut down', async () => {
    const started = start(0);
    await listening(started);
    started.child.send({ kind: 'shut-down' });
    expect(await started.ended).toEqual([0, null]);
  });

  test('on a taken port names it and how to change it, and ends with 69', async () => {
    const port = await takePort('127.0.0.1');
    const started = start(port);
    expect(await started.ended).toEqual([69, null]);
    expect(started.messages).toMatchObject([{ kind: 'cannot-start', exitCode: 69 }]);
    const [message] = started.messages;
    const sentence = message?.kind === 'cannot-start' ? message.message : '';
    expect(sentence).toContain(`Port ${port} on this machine is taken`);
    expect(sentence).toMatch(/set another port in .*bench\.toml: port = \d+ under \[server\]/);
  });

  test('with settings that are wrong names the field and ends with 78', async () => {
    const started = start(0, (toml) => toml.replace(/^maxAmps = .*$/m, 'maxAmps = -3'));
    expect(await started.ended).toEqual([78, null]);
    const [message] = started.messages;
    expect(message).toMatchObject({ kind: 'cannot-start', exitCode: 78 });
    expect(JSON.stringify(message)).toContain('maxAmps');
  });

  test('on the network without a passphrase says how to set one, and ends with 78', async () => {
    const started = start(0, (toml) => `${toml}\n[web]\nlisten = ["127.0.0.2"]\n`);
    expect(await started.ended).toEqual([78, null]);
    const [message] = started.messages;
    expect(message).toMatchObject({ kind: 'cannot-start', exitCode: 78 });
    expect(JSON.stringify(message)).toMatch(/web\.listen is set.*nightbath passphrase/);
  });

  test('with a table of materials that is wrong names the file and ends with 78', async () => {
    const started = start(0, (toml) => toml, { 'materials.toml': '[[materials]]\nid = "x"\n' });
    expect(await started.ended).toEqual([78, null]);
    const [message] = started.messages;
    expect(message).toMatchObject({ kind: 'cannot-start', exitCode: 78 });
    expect(JSON.stringify(message)).toMatch(/materials\.toml.*materials\[0\]\.verdict is missing/);
  });
});

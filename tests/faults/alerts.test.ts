/** kill -9 between writing a message and sending it, on the whole daemon: nothing is lost, a double is known. */

import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import type { ServerResponse } from 'node:http';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { expect, it, onTestFinished } from 'vitest';
import { connectControl } from '../../daemon/control/door.ts';
import { controlSocketPath, loadSettings } from '../../daemon/settings/door.ts';
import { openStoreReader } from '../../daemon/store/door.ts';
import { WebAddress } from '../alerts/servers.ts';
import { testSettings, until } from '../serial/test-bench.ts';

const command = new URL('../../daemon/cli/nightbath.js', import.meta.url).pathname;

/** The process of the daemon that runs this script. */
function childOf(parent: number, script: string): number {
  const children = readFileSync(`/proc/${parent}/task/${parent}/children`, 'utf8')
    .trim()
    .split(' ');
  const found = children.find((pid) =>
    readFileSync(`/proc/${pid}/cmdline`, 'utf8').includes(script),
  );
  if (found === undefined) throw new Error(`There is no ${script}.`);
  return Number(found);
}

it('a message that was on its way when control was killed is said again, under the same name', async () => {
  const [address, watcher] = [await WebAddress.open(), await WebAddress.open()];
  const held: ServerResponse[] = [];
  address.answer = (response) => held.push(response);
  const folder = mkdtempSync(join(tmpdir(), 'nightbath-alerts-'));
  mkdirSync(join(folder, 'state'));
  const file = join(folder, 'bench.toml');
  const database = join(folder, 'runs.sqlite');
  const bench = testSettings(database, '{ kind = "in-process" }', 'scpi-subsystem');
  writeFileSync(
    file,
    `${bench}
[[alerts.channels]]
name = "phone"
kind = "webhook"
url = "${address.url}"
[alerts.deadMan]
url = { environment = "WATCHER" }
`,
  );
  const env = {
    ...process.env,
    XDG_STATE_HOME: join(folder, 'state'),
    XDG_CONFIG_HOME: join(folder, 'config'),
    WATCHER: watcher.url,
  };
  const daemon = spawn(process.execPath, [command, 'serve', '--config', file], { env });
  let words = '';
  daemon.stdout.on('data', (part: Buffer) => (words += part.toString()));
  daemon.stderr.on('data', (part: Buffer) => (words += part.toString()));
  const { settings } = loadSettings({ env, configPath: file });
  const client = connectControl(controlSocketPath(env, settings));
  onTestFinished(async () => {
    client.close();
    if (daemon.exitCode === null) {
      daemon.kill('SIGINT');
      await once(daemon, 'exit');
    }
    rmSync(folder, { recursive: true, force: true });
  });
  await until(
    () => `the page: ${words}`,
    () => words.includes('Nightbath is at'),
    40_000,
  );
  const tell = async (key: string, kind: 'demo' | 'stop') => {
    const answer = await client.command({ kind, tankId: 'one', by: 'a test' }, key);
    return answer.ok;
  };
  // Told before the line to control stands, a command is refused.
  await until('the demo', () => tell(String(Math.random()), 'demo').catch(() => false));
  const started = async () => {
    const answer = await client.command({ kind: 'snapshot' }, 'look');
    return answer.ok && answer.tanks?.[0]?.output === 'on';
  };
  await until('current', started);
  expect(await tell('the stop', 'stop')).toBe(true);
  const first = await until('the message', () => address.posted[0]);
  expect(first.body).toContain('Simulated: Stopped: Tank one');
  const name = /Message (run-end-\S+)/.exec(first.body)?.[1] ?? 'none';
  // It is on disk, it is with the receiver, and nobody has said that it was taken.
  const reader = openStoreReader(database);
  onTestFinished(() => reader.close());
  await until('its row', () => reader.deliveries(5)[0]?.messageId === name);
  expect(reader.deliveries(5)[0]).toMatchObject({ state: 'waiting', deliveries: 0 });
  await until("a call to the dead man's address", () => watcher.posted.length > 0);

  address.answer = (response) => response.end();
  process.kill(childOf(daemon.pid ?? 0, 'control/main.js'), 'SIGKILL');
  const again = await until(
    'the message again',
    () => address.posted.slice(1).find(({ body }) => body.includes(name)),
    30_000,
  );
  expect(again.body).toBe(first.body);
  await until('its mark', () =>
    reader.deliveries(5).some((one) => one.messageId === name && one.state === 'delivered'),
  );
  // The sentinel has said by itself that control was lost.
  const lost = await until('the word of the sentinel', () =>
    address.posted.find(({ body }) => body.includes('The control process was lost')),
  );
  expect(lost.body).toMatch(/Message sentinel-/);
  for (const response of held) response.destroy();
  // The console of the service holds nothing secret.
  expect(words).not.toContain('t0ken');
});

/** `nightbath alerts` against a control socket that a test answers: list, test, code, and nobody there. */

import { mkdirSync } from 'node:fs';
import { dirname } from 'node:path';
import { describe, expect, it, onTestFinished } from 'vitest';
import { ControlSocket } from '../../daemon/control/socket-server.ts';
import { controlSocketPath, databaseFile, loadSettings } from '../../daemon/settings/door.ts';
import { openStoreWriter } from '../../daemon/store/door.ts';
import type { AlertChannel } from '../../daemon/wire/alerts.ts';
import type { Command, CommandAnswer } from '../../daemon/wire/command.ts';
import { CliBench } from './terminal.ts';

const phone: AlertChannel = {
  name: 'phone',
  kind: 'webhook',
  target: 'https://push.example/…',
  outside: true,
  leastPriority: 'note',
  waiting: 0,
  triedWallMs: null,
  deliveredWallMs: Date.UTC(2026, 0, 10, 21, 0, 0),
  lastError: 'The address answered 503.',
  confirmedWallMs: null,
};

function answerTo(command: Command): CommandAnswer {
  switch (command.kind) {
    case 'alert-channels':
      return { ok: true, channels: [phone] };
    case 'alert-test':
      return command.channel === 'phone'
        ? { ok: true, message: 'Sent on "phone".' }
        : { ok: false, code: 'notFound', reason: 'There is no such channel.', problems: [] };
    case 'alert-confirm':
      return { ok: true, message: `Confirmed ${command.code}.` };
    default:
      throw new Error(`Not asked for here: ${command.kind}`);
  }
}

async function served(): Promise<CliBench> {
  const bench = aBench();
  const { settings } = loadSettings({ env: bench.env, configPath: bench.file });
  const path = controlSocketPath(bench.env, settings);
  mkdirSync(dirname(path), { recursive: true });
  const socket = new ControlSocket(
    path,
    (request) => Promise.resolve(answerTo(request.command)),
    () => [],
  );
  await socket.listen();
  onTestFinished(() => socket.close());
  return bench;
}

function aBench(): CliBench {
  const bench = new CliBench();
  onTestFinished(() => bench.remove());
  return bench;
}

describe('nightbath alerts', () => {
  it('lists the channels, with their trouble', async () => {
    const bench = await served();
    const { code, output } = await bench.run(['alerts']);
    expect(code).toBe(0);
    expect(output).toMatch(/phone +webhook +https:\/\/push\.example\/… +2026-01-10 21:00 +never/);
    expect(output).toContain('The address answered 503.');
    const json = await bench.run(['alerts', '--json']);
    expect(JSON.parse(json.output)).toEqual({ channels: [phone], deliveries: [] });
    expect(output).toContain('Nothing was said outside yet.');
  });

  it('lists what was said last, with what became of it, and hides the code of a test', async () => {
    const bench = await served();
    const { settings } = loadSettings({ env: bench.env, configPath: bench.file });
    const store = await openStoreWriter({ file: databaseFile(settings, bench.env) });
    onTestFinished(() => store.close());
    expect((await bench.run(['alerts'])).output).toContain('Nothing was said outside yet.');
    const channels = [{ name: 'phone', print: 'p' }];
    const createdWallMs = Date.UTC(2026, 0, 10, 22, 5, 0);
    const said = { priority: 'stopped', tankId: null, createdWallMs, text: '' } as const;
    const test = { ...said, id: 'test-1', kind: 'test', title: 'Test 4711', code: '4711' } as const;
    const alarm = { ...said, id: 'a-1', kind: 'alarm', title: 'Open circuit', code: null } as const;
    await store.outbox.post({ message: test, channels });
    await store.outbox.post({ message: alarm, channels });
    await store.outbox.mark('a-1', 'phone', {
      state: 'given-up',
      tries: 3,
      failures: 3,
      deliveries: 0,
      dueWallMs: null,
      triedWallMs: createdWallMs,
      deliveredWallMs: null,
      lastError: 'The address answered 503.',
    });
    const { output } = await bench.run(['alerts']);
    expect(output).toMatch(
      /2026-01-10 22:05 +phone +Open circuit +given up, 3 tries: The address answered 503\./,
    );
    expect(output).toMatch(/phone +Test ···· +not delivered yet$/m);
    expect(output).not.toContain('4711');
    const json = JSON.parse((await bench.run(['alerts', '--json'])).output) as {
      deliveries: { messageId: string }[];
    };
    expect(json.deliveries.map(({ messageId }) => messageId)).toEqual(['a-1', 'test-1']);
  });

  it('sends a test by the name of a channel, and takes a code of four digits', async () => {
    const bench = await served();
    expect(await bench.run(['alerts', 'phone'])).toMatchObject({
      code: 0,
      output: expect.stringContaining('Sent on "phone".'),
    });
    expect(await bench.run(['alerts', 'pager'])).toMatchObject({ code: 1 });
    expect(await bench.run(['alerts', '4711'])).toMatchObject({
      code: 0,
      output: expect.stringContaining('Confirmed 4711.'),
    });
    expect((await bench.run(['alerts', 'a', 'b'])).code).toBe(2);
  });

  it('says that the daemon is not running', async () => {
    const { code, complaints } = await aBench().run(['alerts', 'phone']);
    expect(code).toBe(1);
    expect(complaints).toContain('Nightbath is not running');
  });
});

/** `nightbath interrupted`: with no daemon, and with a stand-in for it on the real socket. */

import { mkdirSync } from 'node:fs';
import { describe, expect, it, onTestFinished } from 'vitest';
import { ControlSocket } from '../../daemon/control/socket-server.ts';
import { controlSocketPath } from '../../daemon/settings/door.ts';
import type { Command, CommandAnswer } from '../../daemon/wire/command.ts';
import { interruptedRun, tankSnapshot } from '../web/fixture.ts';
import { CliBench } from './terminal.ts';

interface StandIn {
  readonly bench: CliBench;
  readonly asked: Command[];
}

/** Control as far as this command sees it, with one run that waits. */
async function standIn(ends: CommandAnswer = { ok: true }): Promise<StandIn> {
  const bench = new CliBench();
  const asked: Command[] = [];
  mkdirSync(`${bench.path}/state`, { recursive: true });
  const socket = new ControlSocket(
    controlSocketPath(bench.env, bench.load().settings),
    async ({ command }) => {
      asked.push(command);
      return command.kind === 'snapshot'
        ? { ok: true, tanks: [tankSnapshot()], interrupted: [interruptedRun()] }
        : ends;
    },
    () => [],
  );
  await socket.listen();
  onTestFinished(async () => {
    await socket.close();
    bench.remove();
  });
  return { bench, asked };
}

describe('nightbath interrupted', () => {
  it('tells what waits, what the supply does now, and both ways on', async () => {
    const { bench, asked } = await standIn();
    const { code, output } = await bench.run(['interrupted']);
    expect(code).toBe(0);
    expect(output).toContain('run-1: Seed head, Beaker');
    expect(output).toContain('0.400 Ah (0.400 to 0.900), target 2.00 Ah');
    expect(output).toContain('30 um (25 to 70), target 120 um');
    expect(output).toContain('supply now  output off, read back');
    expect(output).toMatch(/carry on .*continues=run-1|carry on {2}on the Bench page/);
    expect(output).toContain('nightbath interrupted run-1 --end');
    expect(asked.map(({ kind }) => kind)).toEqual(['snapshot']);
    const json = JSON.parse((await bench.run(['interrupted', '--json'])).output) as object;
    expect(json).toMatchObject({
      interrupted: [{ runId: 'run-1', highAmpHours: 0.9 }],
      tanks: [{ id: 'beaker', output: 'confirmedOff' }],
    });
  });

  it('ends one with a note, and switches nothing', async () => {
    const { bench, asked } = await standIn();
    const ended = await bench.run(['interrupted', 'run-1', '--end', '--note', 'It fell in.']);
    expect(ended).toMatchObject({ code: 0, complaints: '' });
    expect(asked).toEqual([
      { kind: 'end-interrupted', runId: 'run-1', by: 'the command line', note: 'It fell in.' },
    ]);
  });

  it('passes on why it cannot be ended', async () => {
    const reason = 'This is decided already.';
    const { bench } = await standIn({ ok: false, code: 'stale', reason, problems: [] });
    const refused = await bench.run(['interrupted', 'run-1', '--end']);
    expect(refused).toMatchObject({ code: 1, output: '', complaints: `${reason}\n` });
  });

  it('names what is wrong with a command line, and a run that does not wait', async () => {
    const { bench, asked } = await standIn();
    for (const words of [['--end'], ['run-1', '--note', 'x'], ['a', 'b']]) {
      expect(await bench.run(['interrupted', ...words])).toMatchObject({ code: 2 });
    }
    const long = await bench.run(['interrupted', 'run-1', '--end', '--note', 'x'.repeat(501)]);
    expect(long).toMatchObject({ code: 2 });
    expect(long.complaints).toContain('501 characters; it may have at most 500');
    expect(asked).toEqual([]);
    const other = await bench.run(['interrupted', 'run-9']);
    expect(other).toMatchObject({ code: 1 });
    expect(other.complaints).toContain('No run "run-9" waits');
  });

  it('says what a start will do where no daemon runs', async () => {
    const bench = new CliBench();
    onTestFinished(() => bench.remove());
    const away = await bench.run(['interrupted']);
    expect(away).toMatchObject({ code: 1, output: '' });
    expect(away.complaints).toContain('No daemon runs');
  });
});

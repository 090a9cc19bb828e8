/** `nightbath off` without a daemon, against the simulated supply on TCP, and with a stand-in daemon. */

import { mkdirSync } from 'node:fs';
import { createServer } from 'node:net';
import type { Server } from 'node:net';
import { describe, expect, it, onTestFinished } from 'vitest';
import { controlSocketPath } from '../../daemon/settings/door.ts';
import { controlRequestSchema } from '../../daemon/wire/command.ts';
import type { CommandAnswer } from '../../daemon/wire/command.ts';
import { runSimulatedRectifier } from '../../drivers/simulated/rectifier.ts';
import type { RunningRectifier } from '../../drivers/simulated/rectifier.ts';
import { benchToml } from '../settings/bench-folder.ts';
import { CliBench } from './terminal.ts';

async function supplyOnTcp(
  dialect: 'scpi-subsystem' | 'vset-iset' | 'fixed-length' | 'scpi-channel-list',
) {
  const supply = await runSimulatedRectifier({
    personality: dialect,
    line: { kind: 'tcp', port: 0 },
    notice: () => {},
  });
  onTestFinished(() => supply.close());
  return supply;
}

function benchFor(port: number | null, dialect = 'scpi-subsystem', more = ''): CliBench {
  const link = `link = { kind = "tcp", host = "127.0.0.1", port = ${port} }`;
  const toml = benchToml
    .replace('"trial-dialect"', `"${dialect}"`)
    .replace('link = { kind = "in-process" }', `${link}\n${more}`);
  const bench = new CliBench(toml);
  onTestFinished(() => bench.remove());
  return bench;
}

/** Puts the output on as the panel's key would. A time of 0 means now: its clock never steps back. */
function switchOn(supply: RunningRectifier): void {
  supply.instrument.faults.set('outputKey', { on: true }, 0);
}

/** The control process as far as \`off\` sees it. */
async function standIn(bench: CliBench, answer: CommandAnswer | null): Promise<string[]> {
  const asked: string[] = [];
  mkdirSync(`${bench.path}/state`, { recursive: true });
  const server: Server = createServer((socket) => {
    socket.on('error', () => {});
    socket.on('data', (bytes) => {
      const request = controlRequestSchema.parse(JSON.parse(bytes.toString()));
      asked.push(
        `${request.command.kind} ${'tankId' in request.command ? request.command.tankId : ''}`,
      );
      if (answer === null) socket.destroy();
      else socket.write(`${JSON.stringify({ type: 'answer', id: request.id, answer })}\n`);
    });
  });
  await new Promise<void>((resolve) => {
    server.listen(controlSocketPath(bench.env, bench.load().settings), resolve);
  });
  onTestFinished(() => void server.close());
  return asked;
}

describe('nightbath off without a daemon', () => {
  it.each(['scpi-subsystem', 'scpi-channel-list', 'vset-iset', 'fixed-length'] as const)(
    'switches a supply that speaks %s off, reads that back and ends with 0',
    async (dialect) => {
      const supply = await supplyOnTcp(dialect);
      switchOn(supply);
      const truth = () => supply.instrument.truth(0);
      expect(truth().outputOn).toBe(true);
      const { code, output, complaints } = await benchFor(supply.port, dialect).run(['off']);
      expect([code, complaints]).toEqual([0, '']);
      expect(output).toMatch(/^Tank one: off\. The supply says off/);
      expect(truth().outputOn).toBe(false);
    },
  );

  it('tells it as JSON for one named tank', async () => {
    const supply = await supplyOnTcp('scpi-subsystem');
    const { code, output } = await benchFor(supply.port).run(['off', 'one', '--json']);
    expect(code).toBe(0);
    expect(JSON.parse(output)).toEqual({
      tanks: [expect.objectContaining({ tankId: 'one', outcome: 'off', way: 'directly' })],
    });
  });

  it('names the known tanks beside an unknown one', async () => {
    const { code, complaints } = await benchFor(1).run(['off', 'two']);
    expect([code, complaints]).toEqual([1, expect.stringContaining('Known: "one"')]);
  });

  it('ends with 69 when nothing answers at the address', async () => {
    const supply = await supplyOnTcp('scpi-subsystem');
    const port = supply.port;
    await supply.close();
    const { code, complaints } = await benchFor(port).run(['off']);
    expect(code).toBe(69);
    expect(complaints).toContain('NOT REACHED');
    expect(complaints).toContain('by hand');
  });

  it('ends with 70 when the supply is mute', { timeout: 40_000 }, async () => {
    const server = createServer((socket) => void socket.on('error', () => {}));
    await new Promise<void>((resolve) => {
      server.listen(0, '127.0.0.1', resolve);
    });
    onTestFinished(() => void server.close());
    const address = server.address();
    const port = typeof address === 'object' ? (address?.port ?? 0) : 0;
    const { code, complaints } = await benchFor(port).run(['off']);
    expect(code).toBe(70);
    expect(complaints).toContain('NOT CONFIRMED OFF');
  });

  it('sends nothing to change to a device that is not the expected one', async () => {
    const supply = await supplyOnTcp('scpi-subsystem');
    switchOn(supply);
    const bench = benchFor(supply.port, 'scpi-subsystem', 'expectIdentity = "ANOTHER"');
    const { code } = await bench.run(['off']);
    expect(code).toBe(69);
    expect(supply.instrument.truth(0).outputOn).toBe(true);
  });

  it('has nothing to do for a simulated tank', async () => {
    const bench = new CliBench(benchToml.replace('trial-dialect', 'scpi-subsystem'));
    onTestFinished(() => bench.remove());
    const { code, output } = await bench.run(['off']);
    expect([code, output]).toEqual([0, expect.stringContaining('only inside the daemon')]);
  });
});

describe('nightbath off with a daemon', () => {
  it('leaves it to the daemon and reports its read-back', async () => {
    const bench = benchFor(1);
    const asked = await standIn(bench, { ok: true, offConfirmed: true, message: 'Off at 0.00 A.' });
    const { code, output } = await bench.run(['off']);
    expect([code, output]).toEqual([0, 'Tank one: off. Off at 0.00 A.\n']);
    expect(asked).toEqual(['stop one']);
  });

  it('ends with 70 when the daemon could not confirm', async () => {
    const bench = benchFor(1);
    await standIn(bench, { ok: true, offConfirmed: false });
    const { code, complaints } = await bench.run(['off']);
    expect([code, complaints]).toEqual([70, expect.stringContaining('NOT CONFIRMED OFF')]);
  });

  it('asks the supply itself when the daemon goes away without an answer', async () => {
    const supply = await supplyOnTcp('scpi-subsystem');
    switchOn(supply);
    const bench = benchFor(supply.port);
    await standIn(bench, null);
    expect((await bench.run(['off'])).code).toBe(0);
    expect(supply.instrument.truth(0).outputOn).toBe(false);
  });
});

/** `nightbath ledger` and `nightbath weigh`: out of a real database, and saved through a real socket. */

import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it, onTestFinished } from 'vitest';
import { answerOnLedger, isOnLedger } from '../../daemon/control/ledger-desk.ts';
import { ControlSocket } from '../../daemon/control/socket-server.ts';
import { controlSocketPath } from '../../daemon/settings/door.ts';
import type { LedgerStore } from '../../daemon/store/door.ts';
import { LedgerWriter } from '../../daemon/store/ledger-writer.ts';
import { ledgerViewSchema } from '../../daemon/wire/ledger.ts';
import { weighInViewSchema } from '../../daemon/wire/weigh-in.ts';
import { bathToml, benchToml } from '../settings/bench-folder.ts';
import { aGrownRun, aWeighIn } from '../store/a-weigh-in.ts';
import { openBenchFile } from '../store/bench-file.ts';
import { planned } from '../run/plan-fixtures.ts';
import { bathSchema, planSchema } from '../../daemon/wire/plan.ts';
import { parse } from 'smol-toml';
import { CliBench } from './terminal.ts';

const trialBath = bathSchema.parse(parse(bathToml));

/** A finished night in the bath of the trial settings, on its tank. */
function night(id: string) {
  const plan = planSchema.parse(planned({ bath: { ...trialBath } }));
  return aGrownRun(id, { tankId: 'one', plan });
}

async function bench(served: boolean) {
  const cli = new CliBench(benchToml.replace('trial-dialect', 'scpi-subsystem'));
  onTestFinished(() => cli.remove());
  mkdirSync(join(cli.path, 'state'), { recursive: true });
  const file = openBenchFile(join(cli.path, 'state/nightbath.sqlite'));
  file.records.createRun(night('night'));
  const writer = new LedgerWriter(file.db);
  const store: LedgerStore = {
    add: (entry) => Promise.resolve(writer.addLedgerEntry(entry)),
    change: (change) => Promise.resolve(writer.changeLedgerEntry(change)),
    saveWeighIn: (change) => Promise.resolve(writer.saveWeighIn(change)),
    adopted: () => Promise.resolve(writer.adoptedEfficiencies()),
  };
  if (served) {
    const socket = new ControlSocket(
      controlSocketPath(cli.env, cli.load().settings),
      async ({ command }) => {
        if (!isOnLedger(command)) throw new Error(`${command.kind} is not for here.`);
        return answerOnLedger(store, new Map(), command, Date.now());
      },
      () => [],
    );
    await socket.listen();
    onTestFinished(() => socket.close());
  }
  return { cli, writer };
}

describe('nightbath weigh', () => {
  it('saves the mass before, then the mass after, and tells what follows', async () => {
    const { cli } = await bench(true);
    const first = await cli.run(['weigh', 'night', '--before', '12']);
    expect(first).toMatchObject({ code: 0, complaints: '' });
    const { code, output } = await cli.run(['weigh', 'night', '--after', '15']);
    expect(code).toBe(0);
    // 3.00 g / (2.60 A·h x 1.18549 g/A·h) is 97.3 %.
    expect(output).toContain('efficiency   97.3 %');
    expect(output).toContain('version      2, saved by the command line');
    const json = await cli.run(['weigh', 'night', '--json']);
    const view = weighInViewSchema.parse(JSON.parse(json.output));
    expect(view.saved?.weighIn).toEqual(aWeighIn());
    expect(view.figures?.efficiency?.value).toBeCloseTo(0.9733, 4);
  });

  it('takes calliper readings, and takes all of it back', async () => {
    const { cli } = await bench(true);
    const given = ['--outside', '2.00:2.24 1.98:2.22', '--inside', '17:16.76'];
    const { output } = await cli.run(['weigh', 'night', ...given]);
    expect(output).toContain('120 um (110 to 130) by callipers');
    const back = await cli.run(['weigh', 'night', '--take-back']);
    expect(back).toMatchObject({ code: 0 });
    expect(back.output).toContain('Nothing is weighed or measured yet.');
  });

  it('names the option, the value and the bound, and passes on what the daemon refuses', async () => {
    const { cli, writer } = await bench(true);
    for (const [option, value, bound] of [
      ['before', 'heavy', 'a number above 0'],
      ['step', '50', '10'],
      ['outside', '2.00-2.24', 'BEFORE:AFTER'],
      ['note', 'x'.repeat(501), '500'],
    ] as const) {
      const { code, complaints } = await cli.run(['weigh', 'night', `--${option}`, value]);
      expect(code, option).toBe(2);
      expect(complaints).toContain(`--${option}`);
      expect(complaints).toContain(bound);
    }
    const swapped = await cli.run(['weigh', 'night', '--before', '15', '--after', '12']);
    expect(swapped).toMatchObject({ code: 1, output: '' });
    expect(swapped.complaints).toContain('more than the mass before, 15 g');
    expect(await cli.run(['weigh', 'nobody'])).toMatchObject({ code: 1 });
    expect(await cli.run(['weigh'])).toMatchObject({ code: 2 });
    expect(writer.adoptedEfficiencies()).toEqual([]);
  });

  it('shows without a daemon, and saves only with one', async () => {
    const { cli } = await bench(false);
    expect((await cli.run(['weigh', 'night'])).output).toContain('Nothing is weighed');
    const refused = await cli.run(['weigh', 'night', '--before', '12']);
    expect(refused).toMatchObject({ code: 1, output: '' });
    expect(refused.complaints).toContain('No daemon runs');
  });
});

describe('nightbath ledger', () => {
  it('lists the baths with what is due, and shows one in full', async () => {
    const { cli, writer } = await bench(false);
    const entry = { kind: 'temperature', celsius: 21.5, note: 'at the rim' } as const;
    const place = { tankId: 'one', bathId: 'trial-copper' };
    const at = { atWallMs: Date.UTC(2026, 0, 11, 7), savedWallMs: Date.UTC(2026, 0, 11, 7) };
    writer.addLedgerEntry({ ...place, ...at, by: 'Mara', entry });
    const list = await cli.run(['ledger']);
    expect(list.output).toMatch(/^one +trial-copper +1 +2\.60 Ah +Brightener: 0\.52 mL due$/m);
    const { output } = await cli.run(['ledger', 'one']);
    expect(output).toContain('Trial copper, in Tank one: 1 runs, 2.60 Ah');
    expect(output).toContain('Brightener: 0.52 mL due, 2.60 Ah since the last');
    expect(output).toContain('plans go by 98.0 % +- 2.0 %');
    expect(output).toContain('2026-01-11 07:00  21.5 C: at the rim (Mara)');
    expect(output).toContain("The supplier's sheet wins");
    const json = ledgerViewSchema.parse(
      JSON.parse((await cli.run(['ledger', 'one', '--json'])).output),
    );
    expect(json).toMatchObject({ runs: 1, ampHours: 2.6 });
    const unknown = await cli.run(['ledger', 'nowhere']);
    expect(unknown).toMatchObject({ code: 2 });
    expect(unknown.complaints).toContain('Known: one trial-copper');
  });
});

describe('nightbath plan', () => {
  it('goes by an efficiency that was taken over, as the page does', async () => {
    const { cli, writer } = await bench(false);
    const piece = { name: 'Twig', areaUncertainty: 0.1, parts: [] as object[] };
    const part = { kind: 'measured', label: '', count: 1, platedFraction: 1 };
    piece.parts.push({ ...part, sizes: { areaMm2: 3000 } });
    const plan = async () => {
      const words = ['plan', '-', '--thickness', '100', '--paint', 'copper', '--json'];
      const { output } = await cli.run(words, JSON.stringify(piece));
      return (JSON.parse(output) as { plan: { bath: { efficiency: { value: number } } } }).plan;
    };
    expect((await plan()).bath.efficiency.value).toBe(0.98);
    const entry = {
      kind: 'efficiency',
      value: 0.9,
      uncertainty: 0.02,
      weighIns: 3,
      note: '',
    } as const;
    const place = { tankId: 'one', bathId: 'trial-copper' };
    writer.addLedgerEntry({ ...place, atWallMs: 1, savedWallMs: 1, by: 'Mara', entry });
    expect((await plan()).bath.efficiency.value).toBe(0.9);
  });
});

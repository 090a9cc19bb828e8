/** The bring-up of a supply from the page, over a real socket to a simulated instrument. */

import { join } from 'node:path';
import { describe, expect, it, onTestFinished } from 'vitest';
import { BringUpDesk } from '../../daemon/control/bring-up-desk.ts';
import type { Tank } from '../../daemon/control/tank.ts';
import { packageRoot } from '../../daemon/settings/door.ts';
import type { LinkSettings } from '../../daemon/settings/model.ts';
import type { Personality } from '../../drivers/simulated/model.ts';
import { runSimulatedRectifier } from '../../drivers/simulated/rectifier.ts';

async function supplyOnTcp(personality: Personality = 'scpi-subsystem') {
  const line = { kind: 'tcp', port: 0 } as const;
  const supply = await runSimulatedRectifier({ personality, line, notice: () => {} });
  onTestFinished(() => supply.close());
  const link = { kind: 'tcp', host: '127.0.0.1', port: supply.port ?? 0 } as const;
  return { link, truth: () => supply.instrument.truth(0), supply };
}

/** A desk beside one tank, whose supply hangs on that line. */
function deskBeside(
  link: LinkSettings,
  more: { run?: unknown; sensors?: unknown; identity?: unknown; connected?: boolean } = {},
) {
  const { run = null, sensors, identity = null, connected = true } = more;
  const settings = { name: 'Beaker', rectifier: { link }, sensors };
  const tank = { settings, run, link: { identity, connected } };
  return new BringUpDesk({
    tanks: new Map([['beaker', tank as unknown as Tank]]),
    env: process.env,
    settingsFile: join(packageRoot(), 'config', 'bench.toml'),
  });
}

const dialect = 'scpi-subsystem';
const limits = { maxAmps: 2, maxVolts: 5 };
const elsewhere: LinkSettings = { kind: 'in-process' };

describe('a supply that no tank has', () => {
  it('is asked who it is; nothing is set and nothing is switched', async () => {
    const { link, truth } = await supplyOnTcp();
    const desk = deskBeside(elsewhere);
    expect(await desk.answer({ kind: 'bring-up-try', link, dialect })).toMatchObject({
      ok: true,
      tried: { fits: true, dialect, maxAmps: 5, maxVolts: 30, lacks: '', outputOn: false },
    });
    expect(await desk.answer({ kind: 'bring-up-try', link, dialect: 'vset-iset' })).toMatchObject({
      ok: true,
      tried: { fits: false, why: expect.any(String) },
    });
    expect(truth()).toMatchObject({ onsReceived: 0, highestSetAmps: 0, highestSetVolts: 0 });
  }, 60_000);

  it('is set and read back with its output off', async () => {
    const { link, truth } = await supplyOnTcp();
    const answer = await deskBeside(elsewhere).answer({
      kind: 'bring-up-set',
      link,
      dialect,
      ...limits,
    });
    expect(answer).toMatchObject({
      ok: true,
      steps: [
        {
          id: 'set-points',
          state: 'ok',
          found:
            '1 V, 0.2 A, over-voltage 5 V and switched on, over-current 2 A and switched on: ' +
            'set and read back',
        },
        { id: 'output', state: 'ok' },
      ],
    });
    expect(truth()).toMatchObject({ onsReceived: 0, tripVolts: 5, tripAmps: 2 });
  });

  it('is not set beyond what it gives', async () => {
    const { link } = await supplyOnTcp();
    const wanted = { ...limits, maxAmps: 9 };
    const answer = await deskBeside(elsewhere).answer({
      kind: 'bring-up-set',
      link,
      dialect,
      ...wanted,
    });
    expect(answer).toMatchObject({
      ok: false,
      code: 'invalid',
      problems: [{ field: 'maxAmps', value: '9', bound: 'at most 5 A' }],
    });
  });

  it('is told apart from one that is not there', async () => {
    const link = { kind: 'serial', path: '/dev/nightbath-absent', baudRate: null } as const;
    const answer = await deskBeside(elsewhere).answer({ kind: 'bring-up-try', link, dialect });
    expect(answer).toMatchObject({ ok: false, code: 'refused' });
  });
});

describe('a supply in service', () => {
  it('is not touched', async () => {
    const { link, truth } = await supplyOnTcp();
    const desk = deskBeside({ ...link });
    const before = truth().receivedCount;
    for (const command of [
      { kind: 'bring-up-try', link, dialect },
      { kind: 'bring-up-set', link, dialect, ...limits },
    ] as const) {
      const answer = await desk.answer(command);
      expect(answer).toMatchObject({ ok: false, code: 'refused' });
      expect(answer.ok ? '' : answer.reason).toContain('in service on Beaker');
    }
    expect(truth().receivedCount).toBe(before);
  });

  // The block 127.0.0.0/8: RFC 1122 section 3.2.1.3; mapped addresses: RFC 4291 section 2.5.5.2.
  it.each([
    'localhost',
    'LOCALHOST',
    '127.0.0.2',
    '127.1',
    '0.0.0.0',
    '::1',
    '[::1]',
    '::ffff:127.0.0.1',
    '0:0:0:0:0:ffff:7f00:1',
  ])('is not touched under the name %s', async (host) => {
    const { link, truth } = await supplyOnTcp();
    const answer = await deskBeside(link).answer({
      kind: 'bring-up-try',
      link: { ...link, host },
      dialect,
    });
    expect(answer.ok ? '' : answer.reason).toContain('in service on Beaker');
    expect(truth().receivedCount).toBe(0);
  });

  it('is told apart from another port of the same computer', async () => {
    const { link } = await supplyOnTcp();
    const desk = deskBeside({ ...link, host: 'localhost', port: link.port === 1 ? 2 : 1 });
    expect(await desk.answer({ kind: 'bring-up-try', link, dialect })).toMatchObject({ ok: true });
  });

  it('is not touched where its name cannot be looked up', async () => {
    const { link, truth } = await supplyOnTcp();
    // A name that no server has: RFC 6761 section 6.4.
    const desk = deskBeside({ ...link, host: 'supply.invalid' });
    const answer = await desk.answer({ kind: 'bring-up-try', link, dialect });
    expect(answer.ok ? '' : answer.reason).toContain('may be a line that is in service on Beaker');
    expect(truth().receivedCount).toBe(0);
  });

  it('is not asked on the line of a sensor', async () => {
    const { link, truth } = await supplyOnTcp();
    const sensors = [{ id: 'bath', link: { ...link, host: 'localhost' } }];
    const desk = deskBeside(elsewhere, { sensors });
    const answer = await desk.answer({ kind: 'bring-up-try', link, dialect });
    expect(answer.ok ? '' : answer.reason).toContain('A sensor of Beaker is on this line');
    const path = '/dev/nightbath-absent';
    const serial = { kind: 'serial', path, baudRate: null } as const;
    const beside = deskBeside(elsewhere, {
      sensors: [{ id: 'bath', link: { kind: 'serial', path, baudRate: 9600 } }],
    });
    const other = await beside.answer({ kind: 'bring-up-try', link: serial, dialect });
    expect(other.ok ? '' : other.reason).toContain('A sensor of Beaker is on this line');
    expect(truth().receivedCount).toBe(0);
  });

  it.each([
    ['armed', 'confirmedOff', false],
    ['lifted', 'confirmedOff', false],
    ['holding', 'on', false],
    ['stopped', 'offRequested', false],
    ['stopped', 'confirmedOff', true],
  ])(
    'keeps others on the network waiting: a run %s, its output %s',
    async (lifecycle, output, asked) => {
      const { link, truth } = await supplyOnTcp();
      const run = { state: { lifecycle, output } };
      const desk = deskBeside({ kind: 'tcp', host: '192.0.2.7', port: 5025 }, { run });
      const answer = await desk.answer({ kind: 'bring-up-try', link, dialect });
      expect(answer.ok).toBe(asked);
      expect(truth().receivedCount > 0).toBe(asked);
      if (!asked) {
        expect(answer).toMatchObject({ reason: expect.stringContaining('a run that is not over') });
        // A device of this computer is another line for sure.
        const serial = { kind: 'serial', path: '/dev/nightbath-absent', baudRate: null } as const;
        const other = await desk.answer({ kind: 'bring-up-try', link: serial, dialect });
        expect(other.ok ? '' : other.reason).not.toContain('a run that is not over');
      }
    },
  );

  describe('by an address that no name of it leads to', () => {
    const otherPort: LinkSettings = {
      kind: 'serial',
      path: '/dev/nightbath-absent',
      baudRate: null,
    };

    /** What the simulated supply says of itself, as a tank in service has heard it. */
    async function identified(link: Extract<LinkSettings, { kind: 'tcp' }>, serial?: string) {
      const desk = deskBeside(elsewhere);
      const answer = await desk.answer({ kind: 'bring-up-try', link, dialect });
      if (!answer.ok || answer.tried?.fits !== true) throw new Error('It was not identified.');
      const text = answer.tried.identity;
      const [maker = '', model = '', told = '', firmware = ''] = text.split(',');
      return { maker, model, serial: serial ?? told, firmware, text };
    }

    const asking = (link: Extract<LinkSettings, { kind: 'tcp' }>) =>
      [
        { kind: 'bring-up-try', link, dialect },
        { kind: 'bring-up-set', link, dialect, ...limits },
      ] as const;

    it.each([
      ['idle', null],
      ['lifted', { state: { lifecycle: 'lifted', output: 'confirmedOff' } }],
    ])('is asked for its name and nothing else: %s', async (_what, run) => {
      const { link, truth } = await supplyOnTcp();
      const identity = await identified(link);
      // The line was closed in order; its last words may still be on their way.
      await expect.poll(() => truth().received.at(-1)?.text).toBe('SYST:LOC');
      const before = truth();
      const desk = deskBeside(otherPort, { run, identity });
      for (const command of asking(link)) {
        const answer = await desk.answer(command);
        expect(answer).toMatchObject({ ok: false, code: 'refused' });
        expect(answer.ok ? '' : answer.reason).toContain('in service on Beaker, by another name');
      }
      const after = truth();
      const asked = after.received.slice(before.receivedCount - after.receivedCount);
      expect(asked.length).toBe(after.receivedCount - before.receivedCount);
      expect(new Set(asked.map(({ text }) => text))).toEqual(new Set(['*IDN?']));
      expect(after).toMatchObject({ onsReceived: 0, offsReceived: before.offsReceived });
    });

    it('is another one where its serial number is another', async () => {
      const { link } = await supplyOnTcp();
      const desk = deskBeside(otherPort, { identity: await identified(link, '4711') });
      const [look, set] = asking(link);
      expect(await desk.answer(look)).toMatchObject({ ok: true, tried: { fits: true } });
      expect(await desk.answer(set)).toMatchObject({ ok: true });
    });

    it('is in doubt without a serial number, until the one in service is out of reach', async () => {
      const { link } = await supplyOnTcp();
      const told = { ...(await identified(link)), serial: '' };
      const nameless = { ...told, maker: '', model: '' };
      const [look] = asking(link);
      const answer = await deskBeside(otherPort, { identity: nameless }).answer(look);
      expect(answer.ok ? '' : answer.reason).toContain('gives no serial number');
      const away = deskBeside(otherPort, { identity: nameless, connected: false });
      expect(await away.answer(look)).toMatchObject({ ok: true });
      const run = { state: { lifecycle: 'holding', output: 'on' } };
      const lost = deskBeside(otherPort, { identity: nameless, connected: false, run });
      expect(await lost.answer(look)).toMatchObject({ ok: false });
    });
  });

  it('is looked at by one page at a time', async () => {
    const { link } = await supplyOnTcp();
    const desk = deskBeside(elsewhere);
    const first = desk.answer({ kind: 'bring-up-try', link, dialect });
    expect(await desk.answer({ kind: 'bring-up-try', link, dialect })).toMatchObject({
      code: 'busy',
    });
    expect(await first).toMatchObject({ ok: true });
  });
});

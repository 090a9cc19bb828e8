/** `nightbath verify`: one line for each thing a night needs, with the code of the first that is wrong. */

import { chownSync, mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it, onTestFinished } from 'vitest';
import { addSentinelNote } from '../../daemon/sentinel/note.ts';
import { sentinelNoteFile } from '../../daemon/settings/door.ts';
import { testSettings } from '../serial/test-bench.ts';
import { aRun } from '../store/a-run.ts';
import { openBenchFile } from '../store/bench-file.ts';
import { CliBench } from './terminal.ts';

const settingsWith = (link: string, dialect = 'scpi-subsystem'): string =>
  testSettings(null, link, dialect);

function benchWith(settings: string): CliBench {
  const bench = new CliBench();
  onTestFinished(() => bench.remove());
  writeFileSync(bench.file, settings);
  mkdirSync(join(bench.path, 'state'));
  return bench;
}

interface Checks {
  readonly checks: readonly { state: string; what: string; found: string }[];
}

async function verified(bench: CliBench): Promise<{ code: number; checks: Checks['checks'] }> {
  const { code, output } = await bench.run(['verify', '--json']);
  return { code, checks: (JSON.parse(output) as Checks).checks };
}

describe('nightbath verify', () => {
  it('finds a simulated bench well, one line each, and makes nothing', async () => {
    const bench = benchWith(settingsWith('{ kind = "in-process" }'));
    const { code, checks } = await verified(bench);
    expect(code).toBe(0);
    expect(checks.map(({ state, what }) => [state, what])).toEqual([
      ['ok', 'settings'],
      ['ok', 'materials'],
      ['ok', 'baths'],
      ['ok', 'database'],
      ['ok', 'room for the log'],
      ['ok', 'damage'],
      ['ok', 'backup'],
      ['ok', 'state folder'],
      ['ok', 'user'],
      ['ok', 'clock'],
      ['ok', 'sentinel'],
      ['ok', 'page'],
      ['ok', 'one: bath'],
      ['ok', 'one: dialect'],
      ['ok', 'one: line'],
      ['look', 'alerts'],
    ]);
    expect(checks[3]?.found).toContain('not there yet');
    expect(checks[13]?.found).toBe('scpi-subsystem; the supply itself guards both');
    const text = await bench.run(['verify']);
    expect(text.output.trim().split('\n')).toHaveLength(17);
  });

  it('names what the supply does not guard by itself', async () => {
    const { code, checks } = await verified(
      benchWith(settingsWith('{ kind = "tcp", host = "127.0.0.1", port = 5025 }', 'vset-iset')),
    );
    expect(code).toBe(0);
    const dialect = checks.find(({ what }) => what === 'one: dialect');
    expect(dialect?.state).toBe('look');
    expect(dialect?.found).toContain('Nightbath alone watches the rest');
    // Nobody switches this one on from here, and a panel may have a switch for it.
    expect(dialect?.found).toContain('a switch for over-voltage, have it on');
    expect(checks.find(({ what }) => what === 'one: line')?.state).toBe('look');
  });

  it.each([
    [
      'a port that is not there',
      settingsWith('{ kind = "serial", path = "/dev/serial/by-id/none", baudRate = 9600 }'),
      69,
      'one: line',
      '/dev/serial/by-id/none is not there',
    ],
    [
      'a dialect that is not there',
      settingsWith('{ kind = "in-process" }', 'klingon'),
      78,
      'settings',
      'klingon',
    ],
    [
      'a bath that is not there',
      settingsWith('{ kind = "in-process" }').replace('acid-copper-still', 'moon-dust'),
      78,
      'settings',
      'moon-dust',
    ],
    ['settings that cannot be read', 'studio = 7', 78, 'settings', 'studio'],
  ])('ends with its code for %s', async (_name, settings, code, what, words) => {
    const found = await verified(benchWith(settings));
    expect(found.code).toBe(code);
    const line = found.checks.find((one) => one.what === what);
    expect(line?.state).toBe('wrong');
    expect(line?.found).toContain(words);
  });

  it('tells a sound database from a damaged one, and changes neither', async () => {
    const bench = benchWith(settingsWith('{ kind = "in-process" }'));
    const file = join(bench.path, 'state', 'nightbath.sqlite');
    openBenchFile(file).close();
    expect((await verified(bench)).checks[3]).toMatchObject({ state: 'ok', what: 'database' });
    writeFileSync(file, 'x'.repeat(9_000));
    const damaged = await verified(bench);
    expect(damaged.code).toBe(74);
    expect(damaged.checks[3]).toMatchObject({ state: 'wrong', what: 'database' });
    expect(damaged.checks[3]?.found).toContain('nightbath restore FILE');
  });

  it.each([
    [2, '', 'ok', /is 2 h old, with 1 more beside it: .*nightly\.sqlite$/],
    [100, '', 'look', /is 4 days old, .*; one is made each night while Nightbath runs/],
    [2, '[backups]\nnightly = false\n', 'look', /is 2 h old.*; no copies are made by themselves/],
  ] as const)(
    'tells that the newest copy is %s hours old %s',
    async (hours, more, state, found) => {
      const bench = benchWith(settingsWith('{ kind = "in-process" }') + more);
      openBenchFile(join(bench.path, 'state', 'nightbath.sqlite')).close();
      const backupOf = async () =>
        (await verified(bench)).checks.find(({ what }) => what === 'backup');
      expect(await backupOf()).toMatchObject({ state: 'look' });
      const folder = join(bench.path, 'state', 'backups');
      mkdirSync(folder);
      for (const age of [hours, hours + 24]) {
        const at = new Date(Date.now() - age * 3_600_000).toISOString();
        const stamp = at.replaceAll(/[-:]|\.\d+/g, '');
        writeFileSync(join(folder, `nightbath-${stamp}.nightly.sqlite`), 'x');
      }
      const line = await backupOf();
      expect(line?.state).toBe(state);
      expect(line?.found).toMatch(found);
    },
  );

  it('tells what earlier starts have set aside, and what to do with it', async () => {
    const bench = benchWith(settingsWith('{ kind = "in-process" }'));
    const file = join(bench.path, 'state', 'nightbath.sqlite');
    writeFileSync(file, 'This is a shopping list. '.repeat(400));
    openBenchFile(file).close();
    const { code, checks } = await verified(bench);
    expect(code).toBe(0);
    const damage = checks.find(({ what }) => what === 'damage');
    expect(damage).toMatchObject({ state: 'look' });
    expect(damage?.found).toMatch(/nightbath\.sqlite\.damaged-\d{8}T\d{6}Z: damaged, and kept/);
  });

  it('holds the clock against the log', async () => {
    const bench = benchWith(settingsWith('{ kind = "in-process" }'));
    const log = openBenchFile(join(bench.path, 'state', 'nightbath.sqlite'));
    log.records.createRun(aRun('night-1', { armedWallMs: Date.now() + 5 * 3_600_000 }));
    log.close();
    const { code, checks } = await verified(bench);
    expect(code).toBe(1);
    const clock = checks.find(({ what }) => what === 'clock');
    expect(clock).toMatchObject({ state: 'wrong' });
    expect(clock?.found).toContain('the newest run is 5 h later');
  });

  it.each([
    [true, 'look', 0, 'confirmed off'],
    [false, 'wrong', 70, 'nightbath off'],
  ])(
    'reads the sentinel’s note where OFF was confirmed: %s',
    async (offConfirmed, state, code, words) => {
      const bench = benchWith(settingsWith('{ kind = "in-process" }'));
      const { settings } = bench.load();
      addSentinelNote(sentinelNoteFile(bench.env, settings), {
        wallMs: Date.now(),
        cause: 'died',
        found: 'The control process was ended by SIGKILL.',
        tanks: [{ tankId: 'one', offConfirmed, message: 'x' }],
      });
      const found = await verified(bench);
      expect(found.code).toBe(code);
      const line = found.checks.find(({ what }) => what === 'sentinel');
      expect(line).toMatchObject({ state });
      expect(line?.found).toContain('SIGKILL');
      expect(line?.found).toContain(words);
    },
  );

  it('says whose the log is, where it is another user’s', async () => {
    const bench = benchWith(settingsWith('{ kind = "in-process" }'));
    const file = join(bench.path, 'state', 'nightbath.sqlite');
    openBenchFile(file).close();
    const { checks } = await verified(bench);
    expect(checks.find(({ what }) => what === 'user')).toMatchObject({ state: 'ok' });
    // Only root can give a file away; for anybody else there is no such file to be had.
    if (process.getuid?.() !== 0) return;
    chownSync(file, 65_534, 65_534);
    const given = await verified(bench);
    const user = given.checks.find(({ what }) => what === 'user');
    expect(user).toMatchObject({ state: 'look' });
    expect(user?.found).toContain('65534');
  });
});

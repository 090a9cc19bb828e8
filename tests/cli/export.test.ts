/** `nightbath export`: a run out of a real database, to standard output and to a file. */

import { existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it, onTestFinished } from 'vitest';
import { aRun, anEvent, readings } from '../store/a-run.ts';
import { openBenchFile } from '../store/bench-file.ts';
import { CliBench } from './terminal.ts';

function benchWithRun(): CliBench {
  const bench = new CliBench();
  onTestFinished(() => bench.remove());
  mkdirSync(join(bench.path, 'state'));
  const file = openBenchFile(join(bench.path, 'state', 'nightbath.sqlite'));
  file.records.createRun(aRun('run-1'));
  file.append('run-1', readings(2_000));
  file.records.appendEvent(anEvent('run-1'));
  return bench;
}

describe('nightbath export', () => {
  it('lists the runs, for people and as JSON', async () => {
    const bench = benchWithRun();
    const { code, output } = await bench.run(['export', '--list']);
    expect(code).toBe(0);
    expect(output).toMatch(/^run-1 +2026-01-10 21:00 +beaker +armed .*Seed head.*\(simulated\)$/m);
    const json = await bench.run(['export', '--list', '--json']);
    expect(JSON.parse(json.output)).toMatchObject({ runs: [{ id: 'run-1' }] });
  });

  it('writes the readings as CSV, all of them, header first', async () => {
    const { code, output } = await benchWithRun().run(['export', 'run-1', '--csv']);
    expect(code).toBe(0);
    const lines = output.split('\r\n');
    expect(lines[0]).toContain('current_amps');
    expect(lines).toHaveLength(2_000 + 2);
  });

  it('writes the events as CSV and the run as JSON', async () => {
    const bench = benchWithRun();
    const events = await bench.run(['export', 'run-1', '--events']);
    expect(events.output).toContain('Tripped: 0.71 A measured');
    const whole = await bench.run(['export', 'run-1', '--json']);
    expect(JSON.parse(whole.output)).toMatchObject({ run: { id: 'run-1' } });
    expect(JSON.parse(whole.output).readings).toHaveLength(2_000);
  });

  it('writes to a new file, and never over one that is there', async () => {
    const bench = benchWithRun();
    const file = join(bench.path, 'run.csv');
    const first = await bench.run(['export', 'run-1', '--out', file]);
    expect([first.code, first.output]).toEqual([0, '']);
    const written = readFileSync(file, 'utf8');
    expect(written.split('\r\n')).toHaveLength(2_002);
    const second = await bench.run(['export', 'run-1', '--out', file]);
    expect([second.code, second.complaints]).toEqual([1, expect.stringContaining('there already')]);
    expect(readFileSync(file, 'utf8')).toBe(written);
  });

  it('says that there is no such run, and writes no file for it', async () => {
    const bench = benchWithRun();
    const file = join(bench.path, 'none.csv');
    const { code, complaints } = await bench.run(['export', 'run-2', '--out', file]);
    expect([code, complaints]).toEqual([1, expect.stringContaining('no run "run-2"')]);
    expect(existsSync(file)).toBe(false);
  });

  it('says that there are no runs where there is no database yet', async () => {
    const bench = new CliBench();
    onTestFinished(() => bench.remove());
    const { code, output } = await bench.run(['export', '--list']);
    expect([code, output]).toEqual([0, 'There are no runs in the log yet.\n']);
  });

  it('ends with 74 where the file is no database', async () => {
    const bench = new CliBench();
    onTestFinished(() => bench.remove());
    mkdirSync(join(bench.path, 'state'));
    writeFileSync(join(bench.path, 'state', 'nightbath.sqlite'), 'x'.repeat(5_000));
    const { code, complaints } = await bench.run(['export', '--list']);
    expect(code).toBe(74);
    expect(complaints).not.toBe('');
  });
});

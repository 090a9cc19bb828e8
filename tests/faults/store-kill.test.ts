/** What is on disk after the process that wrote it was killed outright: everything it was told was stored. */

import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { createInterface } from 'node:readline';
import { expect, onTestFinished, test } from 'vitest';
import { openStoreReader, openStoreWriter } from '../../daemon/store/door.ts';
import { aRun, anAlarm, anEvent } from '../store/a-run.ts';
import { ownFile } from '../store/bench-file.ts';
import { builtStore } from '../store/built-daemon.ts';

/** Creates a run and says so; then appends readings and raises alarms, saying each once it is stored. */
const script = `
  import { openStoreWriter } from '${new URL('door.js', builtStore).href}';
  const [file, run, event, alarm] = JSON.parse(process.argv[1]);
  const say = (line) => process.stdout.write(line + '\\n');
  const writer = await openStoreWriter({ file });
  await writer.createRun(run);
  say('run ' + run.id);
  let at = 0;
  setInterval(() => {
    for (let n = 0; n < 5; n += 1, at += 1) {
      writer.appendReading(run.id, { atMs: at * 250, wallMs: at * 250, volts: 1, amps: 0.4,
        setAmps: 0.4, ampHours: at, thicknessMicrometres: at, lifecycle: 'holding' });
    }
  }, 5);
  for (;;) {
    const stored = await writer.raiseAlarm(event, alarm);
    say('event ' + stored.event.id);
    say('alarm ' + stored.alarm.id);
    say('readings ' + ((await writer.lastReading(run.id))?.ampHours ?? -1));
  }
`;

interface Said {
  readonly word: string;
  readonly value: string;
}

/** Runs the child until it has said `enough` lines, kills it, and returns all that it said. */
async function killedAfter(file: string, runId: string, enough: number): Promise<Said[]> {
  const given = [file, aRun(runId, { lifecycle: 'holding' }), anEvent(runId), anAlarm(runId)];
  const child = spawn(
    process.execPath,
    ['--input-type=module', '-e', script, JSON.stringify(given)],
    { stdio: ['ignore', 'pipe', 'inherit'] },
  );
  onTestFinished(() => void child.kill('SIGKILL'));
  const said: Said[] = [];
  for await (const line of createInterface({ input: child.stdout })) {
    const [word = '', value = ''] = line.split(' ');
    said.push({ word, value });
    // Goes on reading: what it still said before it died counts too.
    if (said.length === enough) child.kill('SIGKILL');
  }
  if (child.exitCode === null && child.signalCode === null) await once(child, 'exit');
  expect(child.signalCode).toBe('SIGKILL');
  return said;
}

test('a run that was said to be created is there after kill -9, and counts as unfinished', async () => {
  const file = ownFile();
  await killedAfter(file, 'night-1', 1);
  const writer = await openStoreWriter({ file });
  const unfinished = await writer.unsettledRuns();
  expect(unfinished).toEqual([aRun('night-1', { lifecycle: 'holding' })]);
  await writer.close();
});

test('killed at many moments, no acknowledged event, alarm or reading is lost', async () => {
  const file = ownFile();
  for (const [round, enough] of [2, 5, 17, 40, 101].entries()) {
    const runId = `night-${round}`;
    const said = await killedAfter(file, runId, enough);
    expect(said.length).toBeGreaterThanOrEqual(enough);

    const notices: string[] = [];
    // At once: a lock that outlived its process would refuse this.
    const writer = await openStoreWriter({ file, onNotice: (line) => notices.push(line) });
    const reader = openStoreReader(file);
    const events = new Set(reader.events(runId).map(({ id }) => String(id)));
    const alarms = new Set(reader.alarms(5000).map(({ id }) => String(id)));
    const lastReading = (await writer.lastReading(runId))?.ampHours ?? -1;
    const count = [...reader.allReadings(runId)].flat().length;
    reader.close();
    await writer.close();

    expect(notices).toEqual([]);
    for (const { word, value } of said) {
      if (word === 'event') expect(events).toContain(value);
      if (word === 'alarm') expect(alarms).toContain(value);
      if (word === 'readings') expect(lastReading).toBeGreaterThanOrEqual(Number(value));
    }
    expect(count).toBe(lastReading + 1);
  }
});

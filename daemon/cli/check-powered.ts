/** The powered part of a bring-up: a bench of its own for a minute, with sentinel and log, and two probes on it. */

import { randomUUID } from 'node:crypto';
import { existsSync, mkdtempSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { performance } from 'node:perf_hooks';
import { setTimeout as wait } from 'node:timers/promises';
import { connectControl, type ControlClient } from '../control/door.ts';
import { startBench } from '../main.ts';
import { guestVariable } from '../settings/door.ts';
import type { CheckProbe } from '../run/probe-model.ts';
import { controlSocketPath, type LoadedSettings } from '../settings/door.ts';
import type { TankSnapshot } from '../wire/bench.ts';
import { settingsBlock, type FoundSupply, type Step, type TankText } from './check-report.ts';

const tankId = 'bring-up';
const upWithinMs = 30_000;
const probeWithinMs = 60_000;

export interface Powered {
  readonly steps: readonly Step[];
  /** The bench ended before both were done: by Ctrl-C, or because it could not come up. */
  readonly cutShort: boolean;
}

/** A folder with settings for this one supply; dialects and the log are the maker's own. */
function settingsFor(supply: FoundSupply, loaded: LoadedSettings): string {
  const folder = mkdtempSync(join(tmpdir(), 'nightbath-check-'));
  for (const kind of ['dialects', 'baths']) {
    const own = join(dirname(loaded.file), kind);
    if (existsSync(own)) symlinkSync(own, join(folder, kind));
  }
  const { database } = loaded.settings;
  const tank: TankText = {
    id: tankId,
    name: 'Bring-up',
    bath: 'acid-copper-still',
    volumeLitres: 1,
    anodeAreaDm2: 1,
    maxHours: 0.1,
  };
  const text = [
    'studio = "Bring-up of a supply"',
    '[server]',
    'port = 0',
    ...(database.file === null ? [] : ['[database]', `file = ${JSON.stringify(database.file)}`]),
    settingsBlock(tank, supply, [], true),
  ].join('\n');
  writeFileSync(join(folder, 'bench.toml'), `${text}\n`);
  return folder;
}

/**
 * Runs a continuity check and a limits drill under the rules of any run. This process is the
 * sentinel meanwhile: Ctrl-C switches off.
 */
export async function probeSupply(
  supply: FoundSupply,
  loaded: LoadedSettings,
  env: NodeJS.ProcessEnv,
  say: (sentence: string) => void,
): Promise<Powered> {
  const folder = settingsFor(supply, loaded);
  try {
    const bench = startBench(
      // Its probes go on record in the maker's log; what stands there already is not its business.
      { configPath: join(folder, 'bench.toml'), env: { ...env, [guestVariable]: '1' }, port: 0 },
      { serving: () => undefined, say },
    );
    let ended = false;
    const finished = bench.sentinel.finished.finally(() => (ended = true));
    const client = connectControl(controlSocketPath(env, bench.loaded.settings));
    const steps = await probeBoth(client, () => ended).catch((error: unknown): Step[] => [
      { id: 'continuity', state: 'failed', found: reason(error) },
    ]);
    client.close();
    const cutShort = ended;
    bench.sentinel.interrupt();
    await finished;
    return { steps, cutShort };
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

async function probeBoth(client: ControlClient, ended: () => boolean): Promise<Step[]> {
  const shown: { tank: TankSnapshot | null } = { tank: null };
  client.onMessage((message) => {
    if (message.type === 'tank') shown.tank = message.tank;
  });
  const until = async (what: string, withinMs: number, done: () => boolean): Promise<void> => {
    const endMs = performance.now() + withinMs;
    while (!done()) {
      if (ended()) throw new Error('The bench ended before the checks were done.');
      if (performance.now() > endMs) throw new Error(`Waited too long for ${what}.`);
      await wait(50);
    }
  };
  await until(
    'the supply',
    upWithinMs,
    () => shown.tank?.link.state === 'connected' && shown.tank.output === 'confirmedOff',
  );
  const steps: Step[] = [];
  for (const probe of ['continuity', 'drill'] as const) {
    steps.push(await runProbe(client, probe, shown, until));
    // A circuit that is not closed has nothing to drill.
    if (steps.at(-1)?.state === 'failed') break;
  }
  return steps;
}

async function runProbe(
  client: ControlClient,
  probe: CheckProbe,
  shown: { readonly tank: TankSnapshot | null },
  until: (what: string, withinMs: number, done: () => boolean) => Promise<void>,
): Promise<Step> {
  const by = 'the command line';
  const asked = await client.command({ kind: 'probe', tankId, by, probe }, randomUUID());
  if (!asked.ok) return { id: probe, state: 'failed', found: asked.reason };
  await until('the check to end', probeWithinMs, () => {
    const { run = null, output = 'unknown' } = shown.tank ?? {};
    return run?.id === asked.runId && run?.outcome !== null && output === 'confirmedOff';
  });
  const told = await client.command({ kind: 'checks', tankId }, randomUUID());
  const check = told.ok ? told.checks?.checks.find(({ id }) => id === probe) : undefined;
  if (check === undefined) return { id: probe, state: 'failed', found: 'It was not answered.' };
  const outcome = shown.tank?.run?.outcome?.reason ?? '';
  const found = check.state === 'unknown' ? outcome : check.sentence;
  return { id: probe, state: check.state === 'ok' ? 'ok' : 'failed', found };
}

function reason(error: unknown): string {
  return error instanceof Error ? error.message : String(error);
}

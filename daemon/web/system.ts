/** About the program itself: health, readiness, ports, and the settings as they may be shown. */

import { randomUUID } from 'node:crypto';
import { Hono } from 'hono';
import type { Settings } from '../settings/model.ts';
import type { StoreReader } from '../store/door.ts';
import { wireVersion } from '../wire/version.ts';
import type { BenchState } from './bench-state.ts';
import { obey } from './commands.ts';
import type { CommandDeps } from './commands.ts';
import { openApiDocument } from './openapi.ts';
import type { Health, SettingsView } from './schemas.ts';

/** A supply that was not heard of for longer than this is not ready, ms. */
const maxSilenceMs = 10_000;

export interface SystemDeps extends CommandDeps {
  readonly bench: BenchState;
  readonly reader: StoreReader;
  readonly settings: Settings;
  readonly place: SettingsPlace;
  /** Pages on the live socket. */
  readonly pages: () => number;
  readonly nowMs: () => number;
}

/** Where the settings and the log lie; shown on the Setup page. */
export interface SettingsPlace {
  readonly file: string;
  readonly source: string;
  readonly databaseFile: string;
}

export function systemRoutes(deps: SystemDeps) {
  const view = settingsView(deps.settings, deps.place);
  return new Hono()
    .get('/api/health', (context) => context.json(health(deps)))
    .get('/healthz', (context) => context.json({ status: 'ok' }))
    .get('/readyz', (context) => {
      const missing = missingNow(deps);
      const ready = missing.length === 0;
      return context.json({ ready, missing }, ready ? 200 : 503);
    })
    .get('/api/ports', async (context) => {
      const answer = await obey(deps, { kind: 'ports' }, randomUUID());
      return context.json(answer.ports ?? []);
    })
    .get('/api/settings', (context) => context.json(view))
    .get('/api/openapi.json', (context) => context.json(openApiDocument()));
}

function logReadable(reader: StoreReader): boolean {
  try {
    reader.runs({ limit: 1 });
    return true;
  } catch {
    return false;
  }
}

function health(deps: SystemDeps): Health {
  const { bench, reader, nowMs } = deps;
  return {
    status: missingNow(deps).length === 0 ? 'ok' : 'degraded',
    wireVersion,
    wallMs: nowMs(),
    uptimeSeconds: Math.round(process.uptime()),
    controlAlive: bench.controlAlive,
    logReadable: logReadable(reader),
    pages: deps.pages(),
    tanks: bench.tanks().map((tank) => ({
      id: tank.id,
      link: tank.link.state,
      output: tank.output,
      silenceMs: Math.round(bench.silenceMs(tank.id) ?? 0),
      // Both times are the tank's own, which runs ahead of ours on a hurried simulated one.
      readingAgeMs: tank.reading === null ? null : tank.wallMs - tank.reading.wallMs,
    })),
  };
}

function missingNow({ bench, reader, settings }: SystemDeps): readonly string[] {
  const missing: string[] = [];
  if (!bench.controlAlive) missing.push('The control process is away.');
  if (!logReadable(reader)) missing.push('The log cannot be read.');
  // Acknowledging it brings no disk back: what counts is whether it goes on.
  const alarms = bench.tanks().flatMap((tank) => [...tank.alarms, ...(tank.quietAlarms ?? [])]);
  if (alarms.some(({ code, clearedWallMs }) => code === 'databaseLost' && clearedWallMs === null)) {
    missing.push('The log cannot be written.');
  }
  for (const { id, name } of settings.tanks) {
    const tank = bench.tank(id);
    const silenceMs = bench.silenceMs(id);
    if (tank === null || silenceMs === null) missing.push(`Nothing was heard of ${name} yet.`);
    else if (silenceMs > maxSilenceMs) missing.push(`Nothing was heard of ${name} lately.`);
    else if (tank.link.state !== 'connected') missing.push(`The supply of ${name} is away.`);
    else if (tank.reading === null) missing.push(`The supply of ${name} gave no reading yet.`);
  }
  return missing;
}

/** Names every field it shows, so that a secret added to the settings stays out by itself. */
function settingsView(settings: Settings, place: SettingsPlace): SettingsView {
  return {
    file: place.file,
    source: place.source,
    studio: settings.studio,
    port: settings.server.port,
    databaseFile: place.databaseFile,
    tanks: settings.tanks.map((tank) => ({
      id: tank.id,
      name: tank.name,
      bath: tank.bath,
      volumeLitres: tank.volumeLitres,
      anodeAreaDm2: tank.anodeAreaDm2,
      maxAmps: tank.maxAmps,
      maxVolts: tank.maxVolts,
      maxHours: tank.maxHours,
      pollHz: tank.pollHz,
      timeScale: tank.timeScale,
      rectifier: {
        driver: tank.rectifier.driver,
        dialect: tank.rectifier.dialect,
        link: linkView(tank.rectifier.link),
        expectIdentity: tank.rectifier.expectIdentity,
        meterUncertainty: tank.rectifier.meterUncertainty,
      },
    })),
  };
}

type LinkView = SettingsView['tanks'][number]['rectifier']['link'];

function linkView(link: Settings['tanks'][number]['rectifier']['link']): LinkView {
  if (link.kind === 'serial') {
    return { kind: link.kind, path: link.path, baudRate: link.baudRate };
  }
  if (link.kind === 'tcp') return { kind: link.kind, host: link.host, port: link.port };
  return { kind: link.kind };
}

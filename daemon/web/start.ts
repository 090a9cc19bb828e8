/** Puts the web process together: bench state, live socket, application and server. */

import { randomUUID } from 'node:crypto';
import type { Logger } from 'pino';
import type { Bath } from '../chemistry/model.ts';
import type { ControlClient } from '../control/door.ts';
import type { Material } from '../piece/material.ts';
import type { TlsPair } from '../settings/door.ts';
import type { Settings } from '../settings/model.ts';
import type { StoreReader } from '../store/door.ts';
import { AccessDesk } from './access/desk.ts';
import type { AttemptRules } from './access/attempts.ts';
import { createApp } from './app.ts';
import type { WebApp } from './app.ts';
import { BenchState } from './bench-state.ts';
import { AccessList } from './guard.ts';
import { LiveHub } from './live.ts';
import type { LiveLimits } from './live.ts';
import type { MeshDeskLimits } from './meshes/mesh-desk.ts';
import { serve } from './server.ts';
import type { SettingsPlace } from './system.ts';

export interface WebDeps {
  readonly reader: StoreReader;
  /** Null where nobody can sign in. */
  readonly passphraseFile: string | null;
  /** Null keeps sessions in memory only. */
  readonly sessionFile: string | null;
  /** Certificate and key in PEM; null serves plain http. */
  readonly tls: TlsPair | null;
  readonly control: ControlClient;
  readonly settings: Settings;
  readonly place: SettingsPlace;
  readonly baths: readonly Bath[];
  readonly materials: readonly Material[];
  readonly dashboardFolder: string;
  readonly log: Logger;
  /** Left out, that of this process. */
  readonly env?: NodeJS.ProcessEnv;
  /** Wall time, ms since the epoch. */
  readonly nowMs: () => number;
  /** Checks every live message against its schema; for development and tests. */
  readonly validate: boolean;
  readonly attemptRules?: AttemptRules;
  readonly liveLimits?: Partial<LiveLimits>;
  readonly commandTimeoutMs?: number;
  readonly exportStallMs?: number;
  readonly meshLimits?: Partial<MeshDeskLimits>;
}

export interface RunningWeb {
  readonly url: string;
  readonly port: number;
  readonly addresses: readonly string[];
  /** The application behind the server, for looking at its routes. */
  readonly app: WebApp;
  readonly hub: LiveHub;
  /** Says goodbye to the pages and stops serving; control and reader stay with the caller. */
  close(): Promise<void>;
}

/** Serves on the settings' port of this machine and of their addresses; throws PortTakenError when that is taken. */
export async function startWeb(deps: WebDeps): Promise<RunningWeb> {
  const access = new AccessList();
  const { settings, log } = deps;
  const { listen, hostNames, signInHere } = settings.web;
  const secure = deps.tls !== null;
  const desk = new AccessDesk({
    ...deps,
    signInHere,
    secure,
    list: access,
    tell: (note) => {
      // Without control no run is under way that it could be told to.
      deps.control.command({ kind: 'access-note', note }, randomUUID()).catch(() => undefined);
    },
  });
  const bench = new BenchState(deps);
  const hub = new LiveHub({
    bench,
    access,
    desk,
    validate: deps.validate,
    ...(deps.liveLimits !== undefined && { limits: deps.liveLimits }),
  });
  const app = createApp({
    ...deps,
    env: deps.env ?? process.env,
    access,
    desk,
    secure,
    bench,
    pages: () => hub.clients,
  });
  try {
    const server = await serve({
      port: settings.server.port,
      others: listen,
      tls: deps.tls,
      fetch: (request, peer) => app.fetch(request, peer),
      upgrade: (request, socket, head, vouch) => hub.upgrade(request, socket, head, vouch),
      opened: (port) => access.open(port, [...listen, ...hostNames], secure ? 'https' : 'http'),
      warn: (sentence) => log.warn(sentence),
    });
    const { url, port, addresses } = server;
    const close = async (): Promise<void> => {
      hub.close();
      await server.close();
    };
    return { url, port, addresses, app, hub, close };
  } catch (error) {
    hub.close();
    throw error;
  }
}

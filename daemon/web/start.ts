/** Puts the web process together: bench state, live socket, application and server. */

import type { Logger } from 'pino';
import type { Bath } from '../chemistry/model.ts';
import type { ControlClient } from '../control/door.ts';
import type { Material } from '../piece/material.ts';
import type { Settings } from '../settings/model.ts';
import type { StoreReader } from '../store/door.ts';
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
  readonly control: ControlClient;
  readonly settings: Settings;
  readonly place: SettingsPlace;
  readonly baths: readonly Bath[];
  readonly materials: readonly Material[];
  readonly dashboardFolder: string;
  readonly log: Logger;
  /** Wall time, ms since the epoch. */
  readonly nowMs: () => number;
  /** Checks every live message against its schema; for development and tests. */
  readonly validate: boolean;
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

/** Serves on the settings' port of this machine; throws PortTakenError when that is taken. */
export async function startWeb(deps: WebDeps): Promise<RunningWeb> {
  const access = new AccessList();
  const bench = new BenchState(deps);
  const hub = new LiveHub({
    bench,
    access,
    validate: deps.validate,
    ...(deps.liveLimits !== undefined && { limits: deps.liveLimits }),
  });
  const app = createApp({ ...deps, access, bench, pages: () => hub.clients });
  try {
    const server = await serve({
      port: deps.settings.server.port,
      fetch: (request) => app.fetch(request),
      upgrade: (request, socket, head) => hub.upgrade(request, socket, head),
    });
    access.open(server.port);
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

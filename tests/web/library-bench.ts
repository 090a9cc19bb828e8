/** A library under test: real web server, real control socket and desk, real database thread and file. */

import { request } from 'node:http';
import type { IncomingHttpHeaders } from 'node:http';
import { mkdirSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import { pino } from 'pino';
import { onTestFinished } from 'vitest';
import { quietAlerts } from '../alerts/quiet-alerts.ts';
import { CheckDesk } from '../../daemon/control/check-desk.ts';
import { CommandDesk } from '../../daemon/control/commands.ts';
import { ProbeBook } from '../../daemon/control/probe-book.ts';
import { BringUpDesk } from '../../daemon/control/bring-up-desk.ts';
import { SettingsDesk } from '../../daemon/control/settings-desk.ts';
import { LogHealth } from '../../daemon/control/log-health.ts';
import { connectControl } from '../../daemon/control/door.ts';
import { InterruptedRuns } from '../../daemon/control/interrupted.ts';
import { ControlSocket } from '../../daemon/control/socket-server.ts';
import { openStoreReader, openStoreWriter, type StoreWriter } from '../../daemon/store/door.ts';
import { startWeb } from '../../daemon/web/start.ts';
import type { ControlRequest } from '../../daemon/wire/command.ts';
import { baths, materials, settings } from './fixture.ts';

interface Sent {
  /** Sent as it is when it is text or bytes, as JSON otherwise. */
  readonly body?: string | Uint8Array | object;
  /** Null leaves a header out that would be sent otherwise. */
  readonly headers?: Readonly<Record<string, string | null>>;
}

interface Reply {
  readonly status: number;
  readonly headers: IncomingHttpHeaders;
  readonly bytes: Buffer;
  json(): unknown;
}

/** On a connection of its own: a server that refuses a body unread closes the one it came on. */
function exchanged(
  url: string,
  method: string,
  headers: Readonly<Record<string, string>>,
  body: string | Uint8Array | undefined,
): Promise<Reply> {
  return new Promise((resolve, reject) => {
    const asked = request(url, { method, headers, agent: false }, (response) => {
      const chunks: Buffer[] = [];
      response.on('data', (chunk: Buffer) => chunks.push(chunk));
      response.on('error', reject);
      response.on('end', () => {
        const bytes = Buffer.concat(chunks);
        resolve({
          status: response.statusCode ?? 0,
          headers: response.headers,
          bytes,
          json: (): unknown => JSON.parse(bytes.toString()),
        });
      });
    });
    asked.on('error', reject);
    asked.end(body);
  });
}

export class LibraryBench {
  readonly url: string;
  /** What reached control, in order. */
  readonly requests: ControlRequest[];
  /** Takes control away, as when it crashed. */
  readonly endControl: () => Promise<void>;
  readonly close: () => Promise<void>;
  /** The store behind it, to put runs into the log. */
  readonly store: StoreWriter;
  #key = 0;

  private constructor(parts: {
    url: string;
    requests: ControlRequest[];
    endControl: () => Promise<void>;
    close: () => Promise<void>;
    store: StoreWriter;
  }) {
    this.url = parts.url;
    this.requests = parts.requests;
    this.endControl = parts.endControl;
    this.close = parts.close;
    this.store = parts.store;
  }

  static async open(options: { maxPages?: number } = {}): Promise<LibraryBench> {
    const folder = mkdtempSync(join(tmpdir(), 'nightbath-library-'));
    const dashboardFolder = join(folder, 'dashboard');
    mkdirSync(dashboardFolder);
    const file = join(folder, 'bench.db');
    const store = await openStoreWriter({ file, ...options });
    const listPorts = () => Promise.resolve([]);
    const interrupted = new InterruptedRuns({
      store,
      tanks: new Map(),
      baths,
      publish: () => undefined,
      onNotice: () => undefined,
    });
    const book = new ProbeBook(store);
    const desk = new CommandDesk({
      interrupted,
      bringUp: new BringUpDesk({ tanks: new Map(), env: process.env, settingsFile: '' }),
      settings: new SettingsDesk({
        tanks: new Map(),
        file: '',
        env: {},
        startAnew: () => undefined,
      }),
      tanks: new Map(),
      baths,
      materials: () => [],
      store,
      listPorts,
      alerts: quietAlerts(store),
      publish: () => undefined,
      book,
      checks: new CheckDesk({
        health: new LogHealth(store),
        book,
        freeMegabytes: () => Promise.resolve(1_000),
      }),
    });
    const requests: ControlRequest[] = [];
    const socketPath = join(folder, 'control.sock');
    const socket = new ControlSocket(
      socketPath,
      (request) => {
        requests.push(request);
        return desk.answer(request);
      },
      () => [],
    );
    await socket.listen();
    const control = connectControl(socketPath);
    const reader = openStoreReader(file);
    const web = await startWeb({
      reader,
      control,
      settings,
      place: { file: '/bench.toml', source: 'shipped', databaseFile: file },
      baths,
      materials,
      passphraseFile: null,
      sessionFile: null,
      tls: null,
      dashboardFolder,
      log: pino({ level: 'silent' }),
      nowMs: () => Date.now(),
      validate: true,
    });
    let ended: Promise<void> | null = null;
    const endControl = (): Promise<void> => (ended ??= socket.close());
    const close = async (): Promise<void> => {
      await web.close();
      control.close();
      await endControl();
      reader.close();
      await store.close();
      rmSync(folder, { recursive: true, force: true });
    };
    while (!control.alive) await wait(2);
    return new LibraryBench({ url: web.url, requests, endControl, close, store });
  }

  /** Sends a request as our own page would, under a key of its own. */
  async ask(method: string, path: string, { body, headers = {} }: Sent = {}): Promise<Reply> {
    this.#key += 1;
    const own: Record<string, string> =
      method === 'GET'
        ? {}
        : { origin: this.url, 'x-nightbath': '1', 'idempotency-key': `test-${this.#key}` };
    const text =
      typeof body === 'object' && !(body instanceof Uint8Array) ? JSON.stringify(body) : body;
    if (body !== undefined && !(body instanceof Uint8Array))
      own['content-type'] = 'application/json';
    const wanted = Object.entries({ ...own, ...headers });
    const sent = wanted.filter((one): one is [string, string] => one[1] !== null);
    return exchanged(this.url + path, method, Object.fromEntries(sent), text);
  }

  upload(bytes: Uint8Array, type = 'application/octet-stream'): Promise<Reply> {
    return this.ask('POST', '/api/pictures', {
      body: Buffer.from(bytes),
      headers: { 'content-type': type },
    });
  }
}

/** A bench of this test's own, gone after it. */
export async function libraryBench(options: { maxPages?: number } = {}): Promise<LibraryBench> {
  const bench = await LibraryBench.open(options);
  onTestFinished(() => bench.close());
  return bench;
}

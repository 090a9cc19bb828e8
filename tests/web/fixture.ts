/** A web process under test: a real server on loopback, with a control client and a reader made by hand. */

import { mkdtempSync, mkdirSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { request } from 'node:http';
import { connect, createServer } from 'node:net';
import type { Socket } from 'node:net';
import { once } from 'node:events';
import type { IncomingHttpHeaders, OutgoingHttpHeaders } from 'node:http';
import { pino } from 'pino';
import { onTestFinished } from 'vitest';
import { endpoints } from '../../daemon/web/endpoints.ts';
import type { ControlClient } from '../../daemon/control/door.ts';
import { planRun } from '../../daemon/run/plan.ts';
import type { Plan, PlanRequest, TankFacts } from '../../daemon/run/model.ts';
import { loadBaths, loadMaterials, packageRoot } from '../../daemon/settings/door.ts';
import type { Settings } from '../../daemon/settings/model.ts';
import { StoreError } from '../../daemon/store/door.ts';
import type {
  ChannelHistory,
  LedgerReader,
  LibraryReader,
  LogFilter,
  RunFilter,
  StoreReader,
} from '../../daemon/store/door.ts';
import { startWeb } from '../../daemon/web/start.ts';
import type { RunningWeb, WebDeps } from '../../daemon/web/start.ts';
import type { Delivery } from '../../daemon/wire/alerts.ts';
import type { LogPage } from '../../daemon/wire/log.ts';
import type { SensorTrace } from '../../daemon/wire/sensors.ts';
import type { TankSnapshot } from '../../daemon/wire/bench.ts';
import type { InterruptedRun } from '../../daemon/wire/interrupted.ts';
import { planSchema } from '../../daemon/wire/plan.ts';
import type { Command, CommandAnswer, ControlMessage } from '../../daemon/wire/command.ts';
import type {
  Alarm,
  EventRow,
  ReadingRow,
  RunRecord,
  RunSummary,
  Series,
} from '../../daemon/wire/run.ts';

export const startWallMs = Date.UTC(2026, 0, 10, 21, 0, 0);

/** Control as the test wants it: remembers what it was sent and answers what it was told to. */
export class HandControl implements ControlClient {
  alive = true;
  /** What it was told of sign-ins. */
  readonly notes: string[] = [];
  readonly sent: { command: Command; key: string }[] = [];
  answer: (command: Command) => Promise<CommandAnswer> = async () => ({ ok: true });
  readonly #messages = new Set<(message: ControlMessage) => void>();
  readonly #lives = new Set<(alive: boolean) => void>();
  tanks: TankSnapshot[] = [tankSnapshot()];

  async command(command: Command, key: string): Promise<CommandAnswer> {
    if (!this.alive) throw new Error('away');
    if (command.kind === 'snapshot') return { ok: true, tanks: this.tanks };
    if (command.kind === 'access-note') {
      this.notes.push(command.note);
      return { ok: true };
    }
    this.sent.push({ command, key });
    return this.answer(command);
  }

  onMessage(listener: (message: ControlMessage) => void): void {
    this.#messages.add(listener);
  }

  onAlive(listener: (alive: boolean) => void): void {
    this.#lives.add(listener);
  }

  close(): void {
    this.#messages.clear();
    this.#lives.clear();
  }

  push(message: ControlMessage): void {
    for (const listener of this.#messages) listener(message);
  }

  turn(alive: boolean): void {
    this.alive = alive;
    for (const listener of this.#lives) listener(alive);
  }
}

/** One finished run with as many readings as asked for, four a second. */
export class HandReader implements StoreReader {
  /** Empty; what concerns the library is tested on a real file. */
  readonly library: LibraryReader = {
    pieces: () => [],
    piece: () => null,
    pieceVersions: () => [],
    picture: () => null,
  };
  /** Empty for the same reason. */
  readonly ledger: LedgerReader = {
    weighIn: () => null,
    weighInVersions: () => [],
    weighedInBath: () => [],
    weighedOfPiece: () => [],
    places: () => [],
    charge: () => ({ runs: 0, ampHours: 0 }),
    newestRun: () => null,
    entries: () => [],
    entryVersions: () => [],
    adopted: () => [],
  };
  readonly record: RunRecord = runRecord();
  readonly rows: readonly ReadingRow[];
  failing = false;

  constructor(readings = 40) {
    this.rows = Array.from({ length: readings }, (_, index) => readingRow(index * 250));
  }

  runs(filter: RunFilter): readonly RunSummary[] {
    this.#mayFail();
    const { tankId = 'beaker', beforeWallMs = Infinity, limit } = filter;
    const summary = runSummary(this.record);
    const fits = tankId === summary.tankId && summary.armedWallMs < beforeWallMs;
    return (fits ? [summary] : []).slice(0, limit);
  }

  /** As `runs`; how a search finds is tested on a real file. */
  searchLog({ tankId = 'beaker', skip, limit }: LogFilter): LogPage {
    const runs = this.runs({ tankId, limit }).slice(skip);
    return { total: runs.length, skip, runs, baths: [this.record.plan.bath.name] };
  }

  run(id: string): RunRecord | null {
    this.#mayFail();
    return id === this.record.id ? this.record : null;
  }

  readings(runId: string, fromMs: number, limit: number): readonly ReadingRow[] {
    this.#mayFail();
    if (runId !== this.record.id) return [];
    return this.rows.filter(({ atMs }) => atMs >= fromMs).slice(0, limit);
  }

  *allReadings(runId: string): Generator<readonly ReadingRow[]> {
    for (let from = 0; from < this.rows.length; from += 1000) {
      this.#mayFail();
      if (runId === this.record.id) yield this.rows.slice(from, from + 1000);
    }
  }

  series(runId: string, buckets: number): Series | null {
    this.#mayFail();
    if (runId !== this.record.id) return null;
    const rows = this.rows.slice(0, buckets);
    return {
      runId,
      atMs: rows.map((row) => row.atMs),
      volts: rows.map((row) => row.volts),
      minVolts: rows.map((row) => row.volts),
      maxVolts: rows.map((row) => row.volts),
      amps: rows.map((row) => row.amps),
      minAmps: rows.map((row) => row.amps),
      maxAmps: rows.map((row) => row.amps),
      setAmps: rows.map((row) => row.setAmps),
      ampHours: rows.map((row) => row.ampHours),
      thicknessMicrometres: rows.map((row) => row.thicknessMicrometres),
      lifecycle: rows.map((row) => row.lifecycle),
    };
  }

  events(runId: string): readonly EventRow[] {
    this.#mayFail();
    return runId === this.record.id ? [eventRow()] : [];
  }

  alarmsOf(runId: string): readonly Alarm[] {
    return this.alarms(1).filter((one) => one.runId === runId);
  }

  notes(): readonly [] {
    return [];
  }

  planChanges(): readonly [] {
    return [];
  }

  sensors(runId: string): readonly SensorTrace[] {
    this.#mayFail();
    if (runId !== this.record.id) return [];
    const about = { id: 'bath', name: 'Bath', kind: 'temperature', unit: '°C' } as const;
    return [{ ...about, atMs: [0, 5_000], values: [21.5, 21.75] }];
  }

  recentEvents(limit: number): readonly EventRow[] {
    this.#mayFail();
    return [eventRow()].slice(0, limit);
  }

  alarms(limit: number, beforeId = Infinity): readonly Alarm[] {
    this.#mayFail();
    return [alarm()].filter(({ id }) => id < beforeId).slice(0, limit);
  }

  deliveries(limit: number, beforeId = Infinity): readonly Delivery[] {
    this.#mayFail();
    return [delivery()].filter(({ id }) => id < beforeId).slice(0, limit);
  }

  channelHistory(): readonly ChannelHistory[] {
    this.#mayFail();
    return [];
  }

  close(): void {
    this.failing = true;
  }

  #mayFail(): void {
    if (this.failing) throw new StoreError('damaged', 'Its pages do not fit together.');
  }
}

const shippedFile = join(packageRoot(), 'config', 'bench.toml');
export const baths = loadBaths({}, shippedFile);
export const materials = loadMaterials({}, shippedFile);

export const settings: Settings = {
  studio: 'Teasel Lane, demonstration studio',
  server: { port: 0 },
  web: { listen: [], hostNames: [], signInHere: false, tls: null },
  units: { density: 'A/dm2', length: 'mm', wire: 'mm' },
  database: { file: null },
  backups: { nightly: true, keep: 7, folder: null },
  alerts: { channels: [], deadMan: null },
  tanks: [
    {
      id: 'beaker',
      name: 'Beaker by the window',
      bath: 'acid-copper-still',
      volumeLitres: 2.5,
      anodeAreaDm2: 2,
      maxAmps: 3,
      maxVolts: 6,
      maxHours: 14,
      pollHz: 4,
      timeScale: 1,
      rectifier: {
        driver: 'scpi',
        dialect: 'scpi-subsystem',
        link: { kind: 'in-process' },
        expectIdentity: null,
        meterUncertainty: 0.01,
      },
    },
  ],
};

const facts: TankFacts = {
  id: 'beaker',
  name: 'Beaker by the window',
  volumeLitres: 2.5,
  anodeAreaDm2: 2,
  simulated: true,
  maxAmps: 3,
  maxVolts: 6,
  maxHours: 14,
  supply: {
    minAmps: 0,
    maxAmps: 5,
    stepAmps: 0.001,
    maxVolts: 30,
    stepVolts: 0.01,
    meterUncertainty: 0.01,
    overVoltageLevel: true,
    overCurrentLevel: true,
  },
};

export function tankSnapshot(change: Partial<TankSnapshot> = {}): TankSnapshot {
  return {
    id: 'beaker',
    name: 'Beaker by the window',
    simulated: true,
    timeScale: 1,
    wallMs: startWallMs,
    facts,
    bathId: 'acid-copper-still',
    link: {
      state: 'connected',
      message: 'A simulated supply.',
      sinceWallMs: startWallMs,
      description: 'in this process',
      cycleMs: 3,
      answerMs: 3,
      timeouts: 0,
      garbled: 0,
      resyncs: 0,
    },
    output: 'confirmedOff',
    outputSinceWallMs: startWallMs,
    reading: {
      wallMs: startWallMs,
      volts: 0,
      amps: 0,
      setVolts: 0,
      setAmps: 0,
      outputOn: false,
      regulation: 'off',
    },
    run: null,
    alarms: [],
    ...change,
  };
}

export function planRequest(): PlanRequest {
  return {
    piece: {
      name: 'Poppy seed head',
      parts: [
        {
          kind: 'ball',
          label: 'Head',
          count: 1,
          platedFraction: 1,
          sizes: { diameterMm: 22 },
        },
      ],
      areaUncertainty: 0.1,
    },
    tankId: 'beaker',
    bathId: 'acid-copper-still',
    paint: 'graphite',
    densityAmpsPerDm2: 1.5,
    target: { kind: 'thickness', micrometres: 200 },
    trickle: null,
  };
}

function plan(): Plan {
  const bath = baths.find(({ id }) => id === 'acid-copper-still');
  if (bath === undefined) throw new Error('The shipped still copper bath is gone.');
  const result = planRun(planRequest(), bath, facts);
  if (!result.ok) throw new Error(JSON.stringify(result.problems));
  return result.plan;
}

/** A run of the beaker that was cut short half-way. */
export function interruptedRun(): InterruptedRun {
  return {
    runId: 'run-1',
    tankId: 'beaker',
    tankName: 'Beaker',
    pieceName: 'Seed head',
    bathName: 'Still acid copper',
    simulated: true,
    reason: 'Nightbath was restarted in mid-run.',
    startedWallMs: startWallMs,
    seenWallMs: startWallMs + 3_600_000,
    offConfirmed: true,
    ampHours: 0.4,
    lowAmpHours: 0.4,
    highAmpHours: 0.9,
    targetAmpHours: 2,
    thicknessMicrometres: { value: 30, low: 25, high: 70 },
    targetMicrometres: 120,
    earlierRunIds: [],
    remarks: [],
    hindrance: null,
  };
}

function runRecord(): RunRecord {
  // Through JSON, as the store keeps it.
  const stored = planSchema.parse(JSON.parse(JSON.stringify(plan())));
  return {
    id: 'run-1',
    kind: 'run',
    tankId: 'beaker',
    continues: null,
    carriedAmpHours: 0,
    simulated: true,
    plan: stored,
    checklist: ['polarity', 'contact', 'sealed', 'tray', 'air'],
    armedWallMs: startWallMs,
    startedWallMs: startWallMs + 5_000,
    clocks: null,
    chargeSeen: null,
    endedWallMs: startWallMs + 15_000,
    lifecycle: 'stopped',
    offConfirmed: true,
    outcome: { end: 'stopped', reason: 'Stopped from the page.', faultCode: null },
    ampHours: 0.001,
    lowAmpHours: 0.001,
    highAmpHours: 0.001,
    thicknessMicrometres: 0.2,
  };
}

function runSummary(record: RunRecord): RunSummary {
  return {
    id: record.id,
    kind: record.kind,
    tankId: record.tankId,
    simulated: record.simulated,
    pieceName: record.plan.request.piece.name,
    bathName: record.plan.bath.name,
    armedWallMs: record.armedWallMs,
    startedWallMs: record.startedWallMs,
    endedWallMs: record.endedWallMs,
    lifecycle: record.lifecycle,
    outcome: record.outcome,
    ampHours: record.ampHours,
    thicknessMicrometres: record.thicknessMicrometres,
    targetMicrometres: 200,
    continues: record.continues,
  };
}

function readingRow(atMs: number): ReadingRow {
  return {
    atMs,
    wallMs: startWallMs + 5_000 + atMs,
    volts: 0.41,
    amps: 0.2281,
    setAmps: 0.228,
    ampHours: (0.2281 * atMs) / 3_600_000,
    thicknessMicrometres: atMs / 50_000,
    lifecycle: 'holding',
  };
}

export function eventRow(change: Partial<EventRow> = {}): EventRow {
  return {
    id: 7,
    runId: 'run-1',
    tankId: 'beaker',
    atMs: 10_000,
    wallMs: startWallMs + 15_000,
    code: 'stopped',
    message: 'Stopped from the page.',
    ...change,
  };
}

function delivery(): Delivery {
  return {
    id: 3,
    messageId: 'alarm-2k4',
    kind: 'alarm',
    priority: 'stopped',
    tankId: 'beaker',
    title: 'Open circuit: Beaker by the window',
    createdWallMs: startWallMs,
    channel: 'phone',
    state: 'repeating',
    tries: 2,
    deliveries: 1,
    dueWallMs: startWallMs + 120_000,
    deliveredWallMs: startWallMs + 6_000,
    lastError: null,
    confirmedWallMs: null,
  };
}

export function alarm(): Alarm {
  return {
    id: 3,
    runId: 'run-1',
    tankId: 'beaker',
    wallMs: startWallMs + 15_000,
    priority: 'note',
    code: 'stopped',
    found: 'The run was stopped after 10 s.',
    cause: 'Somebody pressed the off switch.',
    remedy: 'None is needed.',
    acknowledgedWallMs: null,
    clearedWallMs: null,
  };
}

export interface WebUnderTest extends RunningWeb {
  readonly control: HandControl;
  readonly reader: HandReader;
  readonly host: string;
  readonly dashboardFolder: string;
  /** Sends a request as our own page would. */
  ask(method: string, path: string, more?: AskOptions): Promise<Reply>;
}

export interface AskOptions {
  /** Sent as it is when it is text, as JSON otherwise. */
  readonly body?: unknown;
  /** Null leaves a header out that would be sent otherwise. */
  readonly headers?: Readonly<Record<string, string | readonly string[] | null>>;
}

export interface Reply {
  readonly status: number;
  readonly headers: IncomingHttpHeaders;
  readonly text: string;
  /** The body as JSON; throws where it is not. */
  json(): unknown;
}

export type WebChange = Partial<Omit<WebDeps, 'control' | 'reader'>> & {
  readonly control?: HandControl;
  readonly reader?: HandReader;
  /** A reader of a real file, to take the place of the one made by hand. */
  readonly file?: StoreReader;
};

/** Starts the real server on a free port; it is closed when the test ends, or when it is said. */
export async function webUnderTest(
  change: WebChange = {},
  atEnd: AtEnd = onTestFinished,
): Promise<WebUnderTest> {
  const { control = new HandControl(), reader = new HandReader(), file, ...others } = change;
  const dashboardFolder = others.dashboardFolder ?? temporaryFolder(atEnd);
  const running = await startWeb({
    reader: file ?? reader,
    passphraseFile: null,
    sessionFile: null,
    tls: null,
    control,
    settings,
    place: { file: '/bench.toml', source: 'shipped', databaseFile: '/nightbath.sqlite' },
    baths,
    materials,
    dashboardFolder,
    log: pino({ level: 'silent' }),
    nowMs: () => Date.now(),
    validate: true,
    ...others,
  });
  atEnd(() => running.close());
  const host = `127.0.0.1:${running.port}`;
  // The snapshot is asked for at the start; one turn later it is there.
  await new Promise((resolve) => setImmediate(resolve));
  return {
    ...running,
    control,
    reader,
    host,
    dashboardFolder,
    ask: (method, path, more) => ask(running.port, method, path, more),
  };
}

/** What is to be done at the end of a test, or of all of them. */
export type AtEnd = (end: () => Promise<void> | void) => void;

export function temporaryFolder(atEnd: AtEnd = onTestFinished): string {
  const folder = mkdtempSync(join(tmpdir(), 'nightbath-web-'));
  atEnd(() => rmSync(folder, { recursive: true, force: true }));
  return folder;
}

/** A dashboard as the build leaves it: a page and a file with a hash in its name. */
export function writeDashboard(folder: string): void {
  mkdirSync(join(folder, 'assets'), { recursive: true });
  writeFileSync(join(folder, 'index.html'), '<!doctype html><title>Nightbath</title>');
  writeFileSync(join(folder, 'favicon.svg'), '<svg xmlns="http://www.w3.org/2000/svg"/>');
  writeFileSync(join(folder, 'assets', 'page-BcD3_f-9.js'), 'export {};');
}

/** What in an answer is not as its route promises: pages take these answers at their word. */
function brokenPromise(method: string, path: string, status: number, text: string): string | null {
  // A whole export is judged by its own tests; reading it here would hold up the server under test.
  if (status < 200 || status > 299 || text.length > 1_000_000) return null;
  const route = path.split('?')[0] ?? path;
  const endpoint = endpoints.find(
    (one) =>
      one.method === method.toLowerCase() &&
      new RegExp(`^${one.path.replace(/:\w+/g, '[^/]+')}$`).test(route),
  );
  const answer = endpoint?.answers[status];
  if (answer?.schema === undefined || answer.mediaType !== undefined) return null;
  const { error } = answer.schema.safeParse(JSON.parse(text));
  return error === undefined ? null : `${method} ${path} answers otherwise: ${error.message}`;
}

function ask(port: number, method: string, path: string, more: AskOptions = {}): Promise<Reply> {
  const own: Record<string, string> = { host: `127.0.0.1:${port}` };
  if (method === 'POST' || method === 'PUT' || method === 'DELETE') {
    own['origin'] = `http://127.0.0.1:${port}`;
    own['x-nightbath'] = '1';
    own['content-type'] = 'application/json';
    own['idempotency-key'] = 'key-1';
  }
  const wanted = { ...own, ...more.headers };
  const headers: OutgoingHttpHeaders = {};
  for (const [name, value] of Object.entries(wanted)) {
    if (value !== null) headers[name] = typeof value === 'string' ? value : [...value];
  }
  const { body } = more;
  const text = typeof body === 'string' || body === undefined ? body : JSON.stringify(body);
  return new Promise((resolve, reject) => {
    const options = { host: '127.0.0.1', port, method, path, headers, agent: false };
    const asked = request(options, (response) => {
      const chunks: Buffer[] = [];
      response.on('data', (chunk: Buffer) => chunks.push(chunk));
      response.on('error', reject);
      response.on('end', () => {
        const received = Buffer.concat(chunks).toString();
        const status = response.statusCode ?? 0;
        const broken = brokenPromise(method, path, status, received);
        if (broken !== null) {
          reject(new Error(broken));
          return;
        }
        resolve({
          status,
          headers: response.headers,
          text: received,
          json: (): unknown => JSON.parse(received),
        });
      });
    });
    asked.on('error', reject);
    asked.end(text);
  });
}

/** Sends bytes as they are and gives all that comes back until the server closes. */
export function exchange(port: number, text: string, host = '127.0.0.1'): Promise<string> {
  return new Promise((resolve, reject) => {
    const socket = connect(port, host, () => socket.write(text));
    let received = '';
    socket.on('data', (data) => (received += data.toString()));
    socket.on('error', reject);
    socket.on('close', () => resolve(received));
  });
}

/** The next bytes on a socket. */
export function nextBytes(socket: Socket): Promise<Buffer> {
  return new Promise((resolve) => socket.once('data', resolve));
}

/** The code of the error that a connection ends in. */
export function errorCode(socket: Socket): Promise<string | undefined> {
  return new Promise((resolve) => {
    socket.once('error', (error: NodeJS.ErrnoException) => resolve(error.code));
  });
}

/** Takes a port of this machine until the test ends, and tells which. */
export async function takePort(host: string, port = 0): Promise<number> {
  const server = createServer();
  server.listen(port, host);
  await once(server, 'listening');
  onTestFinished(() => void server.close());
  const address = server.address();
  if (address === null || typeof address === 'string') throw new Error('It does not listen.');
  return address.port;
}

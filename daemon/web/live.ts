/** The live socket: pushes what changes to every page, hears nothing, and lets no page slow it down. */

import { STATUS_CODES } from 'node:http';
import type { IncomingMessage } from 'node:http';
import type { Duplex } from 'node:stream';
import { WebSocket, WebSocketServer } from 'ws';
import { liveMessageSchema } from '../wire/bench.ts';
import type { LiveMessage, TankSnapshot } from '../wire/bench.ts';
import type { AccessDesk } from './access/desk.ts';
import type { HeaderOf } from './access/caller.ts';
import { judgeRole } from './access/gate.ts';
import type { BenchChange, BenchState } from './bench-state.ts';
import { judgeUpgrade, securityHeaders } from './guard.ts';
import type { AccessList } from './guard.ts';
import { ProblemError } from './problem.ts';

export interface LiveLimits {
  /** More pages than this are refused with 503. */
  readonly maxClients: number;
  /** A page that lets this many bytes pile up is dropped. */
  readonly maxBacklogBytes: number;
  readonly pingMs: number;
  /** Shortest time between two messages about one tank; in between only the latest is kept. */
  readonly tankGapMs: number;
}

const defaultLiveLimits: LiveLimits = {
  maxClients: 50,
  maxBacklogBytes: 1024 * 1024,
  pingMs: 15_000,
  tankGapMs: 100,
};

/** Tells a page that its session is over and it has to sign in again; from the range for private use. */
const sessionOverCode = 4401;

export interface LiveHubDeps {
  readonly bench: BenchState;
  readonly access: AccessList;
  readonly desk: AccessDesk;
  readonly limits?: Partial<LiveLimits>;
  /** Checks every message against its schema before it leaves; for development and tests. */
  readonly validate: boolean;
}

interface TankPace {
  sentMs: number;
  latest: TankSnapshot | null;
  timer: NodeJS.Timeout | null;
}

export class LiveHub {
  readonly #deps: LiveHubDeps;
  readonly #limits: LiveLimits;
  readonly #sockets = new WebSocketServer({
    noServer: true,
    maxPayload: 16 * 1024,
    perMessageDeflate: false,
    clientTracking: true,
  });
  readonly #answered = new WeakSet<WebSocket>();
  /** The session that let a page in; a page without one needs none. */
  readonly #sessions = new WeakMap<WebSocket, string>();
  readonly #paces = new Map<string, TankPace>();
  readonly #pinger: NodeJS.Timeout;
  readonly #stopListening: () => void;
  #sequence = 0;
  #closed = false;

  constructor(deps: LiveHubDeps) {
    this.#deps = deps;
    this.#limits = { ...defaultLiveLimits, ...deps.limits };
    deps.desk.sessions.onClosed((id) => this.#sessionOver(id));
    this.#stopListening = deps.bench.onChange((change) => this.#pass(change));
    this.#pinger = setInterval(() => this.#ping(), this.#limits.pingMs);
    this.#pinger.unref();
  }

  get clients(): number {
    return this.#sockets.clients.size;
  }

  /** Takes over an upgrade request, or refuses it with a problem document. */
  upgrade(
    request: IncomingMessage,
    socket: Duplex,
    head: Buffer,
    vouch: () => void = () => undefined,
  ): void {
    // A page may vanish in mid-handshake; without a listener that would end this process.
    socket.on('error', () => socket.destroy());
    const header = singleHeaders(request);
    const refusal = this.#judge(request, header);
    if (refusal !== null) {
      refuseUpgrade(socket, refusal);
      return;
    }
    vouch();
    const caller = this.#deps.desk.callerOf(header, request.socket.remoteAddress);
    // Where the role comes from being here, the end of a session takes nothing away.
    const free = this.#deps.desk.with(caller, null).role !== null;
    this.#sockets.handleUpgrade(request, socket, head, (client) => {
      if (caller.session !== null && !free) this.#sessions.set(client, caller.session.id);
      this.#welcome(client);
    });
  }

  /** Signed out, or too old: the page has to sign in again before it hears more. */
  #sessionOver(id: string): void {
    for (const client of this.#sockets.clients) {
      if (this.#sessions.get(client) === id)
        client.close(sessionOverCode, 'The session has ended.');
    }
  }

  close(): void {
    if (this.#closed) return;
    this.#closed = true;
    this.#stopListening();
    clearInterval(this.#pinger);
    for (const pace of this.#paces.values()) if (pace.timer !== null) clearTimeout(pace.timer);
    this.#paces.clear();
    for (const client of this.#sockets.clients) {
      client.close(1001, 'The page server is stopping.');
      setTimeout(() => client.terminate(), 500).unref();
    }
    this.#sockets.close();
  }

  #judge(request: IncomingMessage, header: HeaderOf): ProblemError | null {
    const { access, desk } = this.#deps;
    const facts = { method: request.method ?? '', path: request.url ?? '', header };
    const refusal = judgeUpgrade(facts, access);
    if (refusal !== null) return refusal;
    const stranger = judgeRole(desk.callerOf(header, request.socket.remoteAddress), 'view');
    if (stranger !== null) return stranger;
    if (this.#closed || this.clients >= this.#limits.maxClients) {
      return new ProblemError('unavailable', 'Too many pages are open; close one and reload.');
    }
    return null;
  }

  #welcome(client: WebSocket): void {
    this.#answered.add(client);
    client.on('pong', () => this.#answered.add(client));
    client.on('ping', () => this.#dropIfSlow(client));
    // Protocol errors and oversized messages: ws answers with 1002, 1007 or 1009 and closes.
    client.on('error', () => undefined);
    client.on('message', () => client.close(1008, 'Commands go by POST.'));
    client.send(this.#text({ type: 'bench', bench: this.#deps.bench.snapshot() }));
  }

  #pass(change: BenchChange): void {
    switch (change.type) {
      case 'tank':
        this.#paced(change.tank);
        return;
      case 'bench':
        this.#broadcast({ type: 'bench', bench: this.#deps.bench.snapshot() });
        return;
      case 'interrupted':
      case 'event':
      case 'alarm':
      case 'control':
        this.#broadcast(change);
    }
  }

  #paced(tank: TankSnapshot): void {
    const pace = this.#paces.get(tank.id) ?? { sentMs: -Infinity, latest: null, timer: null };
    this.#paces.set(tank.id, pace);
    pace.latest = tank;
    if (pace.timer !== null) return;
    const waitMs = pace.sentMs + this.#limits.tankGapMs - performance.now();
    if (waitMs <= 0) this.#sendLatest(pace);
    else pace.timer = setTimeout(() => this.#sendLatest(pace), waitMs);
  }

  #sendLatest(pace: TankPace): void {
    pace.timer = null;
    if (pace.latest === null) return;
    pace.sentMs = performance.now();
    this.#sequence += 1;
    this.#broadcast({ type: 'tank', sequence: this.#sequence, tank: pace.latest });
    pace.latest = null;
  }

  /** One text for all pages: making it costs more than sending it. */
  #broadcast(message: LiveMessage): void {
    if (this.clients === 0) return;
    const text = this.#text(message);
    for (const client of this.#sockets.clients) {
      if (client.readyState !== WebSocket.OPEN || this.#dropIfSlow(client)) continue;
      client.send(text);
    }
  }

  #text(message: LiveMessage): string {
    return JSON.stringify(this.#deps.validate ? liveMessageSchema.parse(message) : message);
  }

  #dropIfSlow(client: WebSocket): boolean {
    if (client.bufferedAmount <= this.#limits.maxBacklogBytes) return false;
    client.terminate();
    return true;
  }

  #ping(): void {
    for (const client of this.#sockets.clients) {
      const session = this.#sessions.get(client);
      // A page that is open keeps its session in use, until that is too old.
      if (session !== undefined && !this.#deps.desk.sessions.keepsUp(session)) {
        client.close(sessionOverCode, 'The session has ended.');
      } else if (!this.#answered.delete(client)) client.terminate();
      else if (client.readyState === WebSocket.OPEN) client.ping();
    }
  }
}

function singleHeaders(request: IncomingMessage): HeaderOf {
  return (name) => {
    const values = request.headersDistinct[name];
    // Two Host or Origin headers can be read in two ways, so they count as none.
    return values?.length === 1 ? values[0] : undefined;
  };
}

function refuseUpgrade(socket: Duplex, refusal: ProblemError): void {
  const body = JSON.stringify(refusal.document());
  const headers = {
    ...securityHeaders(null),
    ...refusal.headers,
    'content-type': 'application/problem+json',
    'content-length': String(Buffer.byteLength(body)),
    'cache-control': 'no-store',
    connection: 'close',
  };
  const lines = Object.entries(headers).map(([name, value]) => `${name}: ${value}\r\n`);
  const status = `HTTP/1.1 ${refusal.status} ${STATUS_CODES[refusal.status] ?? ''}\r\n`;
  socket.end(`${status}${lines.join('')}\r\n${body}`, () => socket.destroy());
}

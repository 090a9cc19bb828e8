/** The live bench: a socket that comes back by itself, and knows when what it shows is old. */

import type { BenchSnapshot, LiveMessage, TankSnapshot } from '../daemon/wire/bench.ts';
import type { Alarm, EventRow } from '../daemon/wire/run.ts';
import { wireVersion } from '../daemon/wire/version.ts';
import { access } from './access.ts';
import { read } from './api.ts';
import { backoffMs, freshness, staleAfterMs, type Freshness } from './staleness.ts';

/** Told of each change: a tank's frame, an event, an alarm. */
export interface LiveListener {
  changed?(): void;
  /** The whole bench was read anew: at the start, and after every gap. */
  bench?(): void;
  tank?(tank: TankSnapshot): void;
  event?(event: EventRow): void;
  alarm?(alarm: Alarm): void;
}

class Connection {
  bench: BenchSnapshot | null = null;
  state: Freshness = 'connecting';
  /** Since when nothing was heard, wall ms of this device. */
  silentSinceWallMs = Date.now();
  readonly #listeners = new Set<LiveListener>();
  #socket: WebSocket | null = null;
  #lastFrameMs: number | null = null;
  #attempt = 0;
  #retry = 0;

  start(): void {
    access.onChange(() => this.announce());
    this.#open();
    setInterval(() => this.#judge(), 500);
    document.addEventListener('visibilitychange', () => {
      if (!document.hidden) void this.#refetch();
    });
  }

  listen(listener: LiveListener): () => void {
    this.#listeners.add(listener);
    return () => this.#listeners.delete(listener);
  }

  tank(id: string): TankSnapshot | null {
    return this.bench?.tanks.find((tank) => tank.id === id) ?? null;
  }

  /** Lets every page render anew: something that it shows has come from elsewhere. */
  announce(): void {
    this.#tell((listener) => listener.changed?.());
  }

  #tell(call: (listener: LiveListener) => void): void {
    this.#listeners.forEach(call);
  }

  #open(): void {
    clearTimeout(this.#retry);
    const scheme = location.protocol === 'https:' ? 'wss' : 'ws';
    const socket = new WebSocket(`${scheme}://${location.host}/api/live`);
    this.#socket?.close();
    this.#socket = socket;
    socket.addEventListener('message', (message) => {
      if (socket === this.#socket) this.#hear(String(message.data));
    });
    socket.addEventListener('close', () => {
      if (socket !== this.#socket || this.state === 'outdated') return;
      this.#socket = null;
      // A session that ended and a daemon that is away look alike from here.
      void access.ask();
      this.#retry = window.setTimeout(() => this.#open(), backoffMs(this.#attempt));
      this.#attempt += 1;
    });
  }

  #hear(text: string): void {
    const message = JSON.parse(text) as LiveMessage;
    // The whole bench comes first on every socket, so nothing of another version is read before this.
    if (message.type === 'bench' && this.#isForeign(message.bench)) return;
    // The daemon was away: it may have come back as another one.
    if (this.#attempt > 0) void this.#compareBuilds();
    this.#attempt = 0;
    switch (message.type) {
      case 'bench':
        this.#take(message.bench);
        break;
      case 'tank':
        this.#takeTank(message.tank);
        break;
      case 'interrupted':
        if (this.bench) this.bench = { ...this.bench, interrupted: message.runs };
        break;
      case 'event':
        this.#tell((listener) => listener.event?.(message.event));
        break;
      case 'alarm':
        this.#tell((listener) => listener.alarm?.(message.alarm));
        break;
      case 'control':
        if (this.bench) this.bench = { ...this.bench, controlAlive: message.alive };
        break;
    }
    this.#judge();
    this.announce();
  }

  /** Whether a bench speaks another version than this page, which then takes nothing of it. */
  #isForeign(bench: BenchSnapshot): boolean {
    if (bench.wireVersion === wireVersion) return false;
    this.#outdate();
    return true;
  }

  /** What this page was built for is gone; it says so and asks to be loaded anew. */
  #outdate(): void {
    this.state = 'outdated';
    this.#socket?.close();
    this.announce();
  }

  /** Whether the daemon still serves the page that this one was loaded from. */
  async #compareBuilds(): Promise<void> {
    const own = document.querySelector('script[type=module]')?.getAttribute('src') ?? '';
    try {
      const response = await fetch('/', { signal: AbortSignal.timeout(5_000) });
      if (response.ok && !(await response.text()).includes(own)) this.#outdate();
    } catch {
      // Away again; the next connection asks again.
    }
  }

  #frame(): void {
    this.#lastFrameMs = performance.now();
    this.silentSinceWallMs = Date.now();
  }

  #take(bench: BenchSnapshot): void {
    this.bench = bench;
    if (bench.controlAlive) this.#frame();
    this.#tell((listener) => listener.bench?.());
    for (const tank of bench.tanks) this.#tell((listener) => listener.tank?.(tank));
  }

  #takeTank(tank: TankSnapshot): void {
    if (!this.bench) return;
    const known = this.bench.tanks.some(({ id }) => id === tank.id);
    const tanks = known
      ? this.bench.tanks.map((other) => (other.id === tank.id ? tank : other))
      : [...this.bench.tanks, tank];
    this.bench = { ...this.bench, tanks };
    this.#frame();
    this.#tell((listener) => listener.tank?.(tank));
  }

  #judge(): void {
    if (this.state === 'outdated') return;
    const now = performance.now();
    const state = this.bench
      ? freshness(this.#lastFrameMs ?? -Infinity, now, this.bench.controlAlive)
      : 'connecting';
    // A socket that looks open but has been mute for long is given up for a new one.
    const mute = this.#lastFrameMs !== null && now - this.#lastFrameMs > 4 * staleAfterMs;
    if (mute && this.#socket?.readyState === WebSocket.OPEN && this.bench?.controlAlive) {
      this.#lastFrameMs = now - staleAfterMs - 1;
      this.#socket.close();
    }
    // While it connects the page says so only after a while, so it has to look again.
    if (state !== this.state || state === 'connecting') {
      this.state = state;
      this.announce();
    }
  }

  /** After the page was hidden its timers and its socket may have slept. */
  async #refetch(): Promise<void> {
    if (this.#socket === null) this.#open();
    try {
      const bench = await read<BenchSnapshot>('/api/bench');
      if (this.#isForeign(bench)) return;
      this.#take(bench);
    } catch {
      // The socket tells when the daemon is back; until then the page says that it is stale.
    }
    this.#judge();
    this.announce();
  }
}

export const connection = new Connection();

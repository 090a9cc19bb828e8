/** A whole bench for long trials: a supply in a process of its own, a pseudo-terminal, and the built daemon. */

import { once } from 'node:events';
import { readFileSync, readdirSync, writeFileSync } from 'node:fs';
import { connect } from 'node:net';
import { existsSync } from 'node:fs';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { connectControl } from '../../dist/daemon/control/door.js';
import { controlSocketPath, loadSettings } from '../../dist/daemon/settings/door.js';
import { checkIds } from '../../dist/daemon/run/checks/model.js';
import { checklistItems } from '../../dist/daemon/wire/checklist.js';
import { childrenOf, end, root, start, until } from '../bench/workshop.js';

const command = join(root, 'daemon/cli/nightbath.js');
const busyWaitMs = 60_000;

function settingsText(folder, path) {
  return `studio = "Trials"
[server]
port = 0
[database]
file = "${join(folder, 'runs.sqlite')}"
[[tanks]]
id = "one"
name = "Tank one"
bath = "acid-copper-still"
volumeLitres = 3
anodeAreaDm2 = 3
maxAmps = 3
maxVolts = 6
maxHours = 12
pollHz = 4
[tanks.rectifier]
driver = "scpi"
dialect = "scpi-subsystem"
meterUncertainty = 0.01
link = { kind = "serial", path = "${path}", baudRate = 115200 }
`;
}

/** A flat piece of 0.3 dm2 at 1.5 A/dm2, 0.45 A, that is to take this many ampere-hours. */
export function flatPiece(ampHours) {
  const part = {
    kind: 'measured',
    label: 'sheet',
    count: 1,
    platedFraction: 1,
    sizes: { areaMm2: 3_000 },
  };
  return {
    piece: { name: 'Trial sheet', parts: [part], areaUncertainty: 0.05 },
    tankId: 'one',
    bathId: 'acid-copper-still',
    paint: 'none',
    densityAmpsPerDm2: 1.5,
    target: { kind: 'charge', ampHours },
    trickle: null,
    start: { strikeShare: 0.5, strikeMinutes: 0.05, rampMinutes: 0.05 },
  };
}

/** The simulated supply behind socat, and its side door, through which it tells what is true. */
export class Supply {
  #side = null;
  #answers = [];
  #sideSocket = null;
  #socat = null;

  constructor(folder) {
    this.path = join(folder, 'supply');
  }

  get pid() {
    return childrenOf(this.#socat.pid)[0];
  }

  /** A port that is free now may be another's in a second: it chooses its own, and says which. */
  async start() {
    const told = ['--dialect', 'scpi-subsystem', '--paint', 'none', '--control-port', '0'];
    const exec = [process.execPath, command, 'rectifier', ...told, '--stdio'].join(' ');
    const socat = start('socat', [`pty,raw,echo=0,link=${this.path}`, `EXEC:"${exec}"`], {
      stdio: ['ignore', 'ignore', 'pipe'],
    });
    this.#socat = socat;
    let said = '';
    let ended = false;
    socat.stderr.on('data', (chunk) => {
      said += chunk.toString();
      process.stderr.write(chunk);
    });
    socat.once('close', () => (ended = true));
    const door = await until(
      'the side door of the supply',
      () => {
        if (ended) throw new Error(`The supply ended: ${said}`);
        return /^Side door for tests on TCP port (\d+)\n/m.exec(said)?.[1];
      },
      busyWaitMs,
    );
    await until('the pseudo-terminal', () => existsSync(this.path), busyWaitMs);
    await this.#open(Number(door));
  }

  async #open(port) {
    const socket = connect({ port, host: '127.0.0.1' });
    socket.on('error', () => undefined);
    await once(socket, 'connect');
    this.#sideSocket = socket;
    this.#side = createInterface({ input: socket });
    this.#side.on('line', (line) => this.#answers.shift()?.(JSON.parse(line)));
  }

  /** What is true at the supply, with the time of asking and answering on this process's clock, ms. */
  truth() {
    const askedMs = performance.now();
    return new Promise((resolve) => {
      this.#answers.push(({ truth }) => {
        resolve({ ...truth, askedMs, answeredMs: performance.now() });
      });
      this.#sideSocket.write('{"truth":true}\n');
    });
  }

  /** What to add to the supply's times to have them on this process's clock, ms: the best of a few. */
  async clockOffsetMs() {
    let best = { width: Infinity, offset: 0 };
    for (let turn = 0; turn < 20; turn += 1) {
      const { nowMs, askedMs, answeredMs } = await this.truth();
      const width = answeredMs - askedMs;
      if (width < best.width) best = { width, offset: (askedMs + answeredMs) / 2 - nowMs };
    }
    return best.offset;
  }

  async stop() {
    this.#side?.close();
    this.#sideSocket?.destroy();
    await end(this.#socat);
  }
}

/** The daemon as `serve` runs it, with a client on control's socket. */
export class Daemon {
  #child = null;
  #client = null;
  snapshot = null;
  output = '';
  url = '';

  constructor(folder, path) {
    this.config = join(folder, 'bench.toml');
    this.databaseFile = join(folder, 'runs.sqlite');
    writeFileSync(this.config, settingsText(folder, path));
    this.env = { ...process.env, XDG_STATE_HOME: folder, XDG_CONFIG_HOME: folder };
  }

  get pid() {
    return this.#child.pid;
  }

  get alive() {
    return this.#child !== null && this.#child.exitCode === null && this.#child.signalCode === null;
  }

  /** Only the process: whoever times its start does not wait for the page. */
  spawn() {
    this.output = '';
    this.url = '';
    this.#child = start(process.execPath, [command, 'serve', '--config', this.config], {
      env: this.env,
      stdio: ['ignore', 'pipe', 'pipe'],
    });
    const hear = (chunk) => {
      this.output = (this.output + chunk.toString()).slice(-20_000);
      this.url = /http:\/\/[^\s]+/.exec(this.output)?.[0] ?? this.url;
    };
    this.#child.stdout.on('data', hear);
    this.#child.stderr.on('data', hear);
  }

  async start() {
    if (!this.alive) this.spawn();
    await until(
      'the address of the page',
      () => {
        if (!this.alive) throw new Error(`The daemon ended: ${this.output}`);
        return this.url !== '';
      },
      busyWaitMs,
    );
    const { settings } = loadSettings({ configPath: this.config, env: this.env });
    this.#client ??= connectControl(controlSocketPath(this.env, settings));
    this.#client.onMessage((message) => {
      if (message.type === 'tank') this.snapshot = message.tank;
    });
    await this.ready();
  }

  /** The supply is connected and its output is known to be off; standing alarms are acknowledged. */
  async ready() {
    // The picture that a dead control left behind is no picture of the new one.
    this.snapshot = null;
    await until(
      'the tank to be ready',
      async () => {
        const shown = this.snapshot;
        if (shown?.link.state !== 'connected' || shown.output !== 'confirmedOff') return false;
        for (const { id } of shown.alarms) await this.tell({ kind: 'acknowledge', alarmId: id });
        return shown.alarms.length === 0;
      },
      busyWaitMs,
    );
  }

  tell(asked) {
    const key = `trial-${process.pid}-${performance.now()}`;
    const told =
      asked.tankId === undefined && asked.kind !== 'acknowledge'
        ? asked
        : { ...asked, by: 'trial' };
    return this.#client.command(told, key);
  }

  /** Arms, starts, and waits until the output is on; the id of the run. */
  async run(plan) {
    const armed = await this.tell({
      kind: 'arm',
      tankId: 'one',
      plan,
      checklist: checklistItems.map(({ id }) => id),
      continues: null,
    });
    if (!armed.ok) throw new Error(`${armed.reason} ${JSON.stringify(armed.problems)}`);
    const ready = await until(
      'the run to be ready',
      () => {
        const run = this.snapshot?.run;
        if (run?.id !== armed.runId) return false;
        if (run.outcome !== null) throw new Error(`It ended while arming: ${run.outcome.reason}`);
        return run.ready ? run : false;
      },
      busyWaitMs,
    );
    const started = await this.tell({
      kind: 'start',
      tankId: 'one',
      runId: ready.id,
      version: ready.version,
      // Somebody stands beside the bench and has seen all advice.
      acknowledged: [...checkIds],
      attended: true,
    });
    if (!started.ok) throw new Error(started.reason);
    await until('the output to be on', () => this.snapshot?.output === 'on', busyWaitMs);
    return ready.id;
  }

  /** Process ids by name. */
  processes() {
    const found = { sentinel: this.pid };
    for (const child of childrenOf(this.pid)) {
      const line = readFileSync(`/proc/${child}/cmdline`, 'utf8');
      for (const name of ['control', 'web']) {
        if (line.includes(`${name}/main.js`)) found[name] = child;
      }
    }
    return found;
  }

  closeClient() {
    this.#client?.close();
    this.#client = null;
    this.snapshot = null;
  }

  async stop() {
    this.closeClient();
    if (this.alive) await end(this.#child, 'SIGTERM', 30_000);
  }
}

/** Open descriptors of a process. */
export function descriptorsOf(pid) {
  return readdirSync(`/proc/${pid}/fd`).length;
}

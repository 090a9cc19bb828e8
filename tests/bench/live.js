/** What a message to a page costs the web process, against a bare WebSocket server with the same texts. */

import { fork } from 'node:child_process';
import { once } from 'node:events';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { WebSocket } from 'ws';
import { ControlSocket } from '../../dist/daemon/control/socket-server.js';
import { forgetfulStore, startTank } from './demo.js';
import { alternately, figure } from './measure.js';
import { scratchFolder, until, wait } from './workshop.js';

const serverFile = fileURLToPath(new URL('live-server.js', import.meta.url));
const rounds = 5;
const pages = 100;
const everyMs = 100;
const settleMs = 500;
const stretchMs = 3000;

/** A tank in a run, as control would show it. */
async function runningTank() {
  const bench = await startTank({ store: forgetfulStore(), timeScale: 1 });
  await bench.startDemo('live');
  await until('the run to strike', () => bench.tank.run?.state.output === 'on');
  const tank = structuredClone(bench.tank.snapshot());
  await bench.close();
  return tank;
}

async function openPages(url, options, hear) {
  const sockets = Array.from({ length: pages }, () => new WebSocket(url, options));
  for (const socket of sockets) socket.on('message', hear);
  await Promise.all(sockets.map((socket) => once(socket, 'open')));
  return async () => {
    for (const socket of sockets) socket.terminate();
    await wait(settleMs);
  };
}

class Servers {
  #child;

  constructor(child) {
    this.#child = child;
  }

  /** CPU so far, us. */
  async ask(request) {
    this.#child.send(request);
    const [{ cpuMicroseconds }] = await once(this.#child, 'message');
    return cpuMicroseconds;
  }

  /** CPU of the server for each message that reached a page, us. */
  async stretch(url, options, hear = () => undefined) {
    let count = 0;
    const closePages = await openPages(url, options, (data) => {
      count += 1;
      hear(data);
    });
    await wait(settleMs);
    const startCpu = await this.ask({ ask: 'cpu' });
    const startCount = count;
    await wait(stretchMs);
    const cpu = (await this.ask({ ask: 'cpu' })) - startCpu;
    const heard = count - startCount;
    await closePages();
    const least = (0.8 * pages * stretchMs) / everyMs;
    if (heard < least) throw new Error(`Only ${heard} messages came, of at least ${least}.`);
    return cpu / heard;
  }
}

export async function measure() {
  const folder = scratchFolder();
  const path = join(folder, 'control.sock');
  const tank = await runningTank();
  const answer = async () => ({ ok: true, tanks: [tank] });
  const control = new ControlSocket(path, answer, () => [{ type: 'tank', tank }]);
  await control.listen();
  const child = fork(serverFile, [path, folder], { stdio: ['ignore', 2, 2, 'ipc'] });
  process.once('exit', () => child.kill('SIGKILL'));
  const [{ hub, bareUrl }] = await once(child, 'message');
  const servers = new Servers(child);
  const texts = new Set();
  const ours = async () => {
    const ticker = setInterval(() => {
      const wallMs = Date.now();
      const reading = { ...tank.reading, wallMs, amps: Math.random() };
      control.publish({ type: 'tank', tank: { ...tank, wallMs, reading } });
    }, everyMs);
    const cost = await servers.stretch(hub.url, { origin: hub.origin }, (data) => {
      const text = data.toString();
      if (text.startsWith('{"type":"tank"')) texts.add(text);
    });
    clearInterval(ticker);
    return cost;
  };
  const theirs = async () => {
    await servers.ask({ ask: 'send', texts: [...texts] });
    const cost = await servers.stretch(bareUrl, {});
    await servers.ask({ ask: 'send', texts: [] });
    return cost;
  };
  // Once for the compiler to warm up.
  await ours();
  await theirs();
  const measured = await alternately(rounds, { ours, theirs });
  const ended = once(child, 'exit');
  child.disconnect();
  await ended;
  await control.close();
  const bytes = Buffer.byteLength([...texts][0]);
  const { value, sides } = figure(measured, 'µs', 1);
  return { cpu: { value, sides: `${sides}, messages of ${bytes} bytes` } };
}

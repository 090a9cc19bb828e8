/** What the three processes hold at rest and in a hurried run, against three bare Node processes. */

import { randomUUID } from 'node:crypto';
import { processesOf, startBareNode, startDaemon } from './daemon.js';
import { alternately, figure, median } from './measure.js';
import { residentMb, scratchFolder, until, wait } from './workshop.js';

const rounds = 5;
const restMs = 4000;
const runMs = 20_000;
const names = ['sentinel', 'control', 'web'];

function resident(daemon) {
  const pids = processesOf(daemon);
  return names.map((name) => residentMb(pids[name]));
}

function sum(values) {
  return values.reduce((total, value) => total + value, 0);
}

async function atRest(folder, kept) {
  const daemon = await startDaemon(folder);
  await wait(restMs);
  const each = resident(daemon);
  await daemon.stop();
  kept.push(each);
  return sum(each);
}

async function bare() {
  const three = await Promise.all([startBareNode(), startBareNode(), startBareNode()]);
  await wait(500);
  const total = sum(three.map(({ pid }) => residentMb(pid)));
  await Promise.all(three.map(({ stop }) => stop()));
  return total;
}

/** Starts the demonstration as its button does. */
async function startDemo({ url }) {
  const [tank] = await until('the tank', async () => {
    const tanks = await (await fetch(`${url}/api/tanks`)).json();
    return tanks[0]?.output === 'confirmedOff' ? tanks : null;
  });
  const answer = await fetch(`${url}/api/tanks/${tank.id}/demo`, {
    method: 'POST',
    headers: {
      origin: url,
      'content-type': 'application/json',
      'idempotency-key': randomUUID(),
      'x-nightbath': '1',
    },
    body: '{}',
  });
  if (!answer.ok) throw new Error(`The demonstration was refused: ${await answer.text()}`);
}

/** The highest that each process reached while the night was hurried. */
async function inRun(folder) {
  const daemon = await startDaemon(folder);
  await startDemo(daemon);
  await until('the output to be on', async () => {
    const [tank] = await (await fetch(`${daemon.url}/api/tanks`)).json();
    return tank.output === 'on';
  });
  const highest = names.map(() => 0);
  const endMs = performance.now() + runMs;
  while (performance.now() < endMs) {
    resident(daemon).forEach((value, index) => {
      highest[index] = Math.max(highest[index], value);
    });
    await wait(250);
  }
  const [tank] = await (await fetch(`${daemon.url}/api/tanks`)).json();
  if (tank.output !== 'on') throw new Error(`The run ended early: ${tank.run?.sentence}`);
  await daemon.stop();
  return highest;
}

export async function measure() {
  if (process.platform !== 'linux') {
    const leftOut = { leftOut: 'it reads /proc, which only Linux has' };
    const ids = ['rest', ...names.flatMap((name) => [idOf('rest', name), idOf('run', name)])];
    return Object.fromEntries(ids.map((id) => [id, leftOut]));
  }
  const folder = scratchFolder();
  const kept = [];
  const measured = await alternately(rounds, { ours: () => atRest(folder, kept), theirs: bare });
  const highest = await inRun(folder);
  const each = names.flatMap((name, index) => [
    [idOf('rest', name), { value: median(kept.map((values) => values[index])) }],
    [idOf('run', name), { value: highest[index] }],
  ]);
  return { rest: figure(measured, 'MB', 0), ...Object.fromEntries(each) };
}

function idOf(when, name) {
  return `${when}${name[0].toUpperCase()}${name.slice(1)}`;
}

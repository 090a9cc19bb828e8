/** The demonstration night as plan, run and tank: the same piece in every benchmark that needs one. */

import { join } from 'node:path';
import { CommandDesk } from '../../dist/daemon/control/commands.js';
import { buildTank } from '../../dist/daemon/control/tank-parts.js';
import { loadBaths, loadMaterials, loadSettings } from '../../dist/daemon/settings/door.js';
import { root, until } from './workshop.js';

const configPath = join(root, 'config/bench.toml');

/** The shipped settings on a free port, and the shipped baths. */
export const { settings } = loadSettings({ configPath, env: { NIGHTBATH_PORT: '0' } });
export const baths = loadBaths({}, configPath);
export const materials = loadMaterials({}, configPath);

/** Nobody has to be told how to switch a simulated supply off. */
const guardian = { guard: async () => ({ hungOffMs: null }), release: () => undefined };

/** Nothing is said outside. */
const unsaid = {
  post: (message) => ({ message, channels: [] }),
  stored: () => undefined,
  acknowledged: () => undefined,
  noTurnDue: () => undefined,
};

/** A store that takes everything and keeps nothing. */
export function forgetfulStore() {
  let id = 0;
  const numbered = (row) => ({ ...row, id: (id += 1) });
  return {
    createRun: async () => undefined,
    patchRun: async () => undefined,
    appendReading: () => undefined,
    appendEvent: async (event) => numbered(event),
    raiseAlarm: async (event, alarm) => ({
      event: numbered(event),
      alarm: { ...numbered(alarm), acknowledgedWallMs: null },
    }),
    onFailure: () => undefined,
    ledger: { adopted: async () => [] },
  };
}

/**
 * The shipped simulated tank in this process, connected, its loop turning; `judged` sees it after each
 * turn.
 */
export async function startTank({ store, timeScale, judged = () => undefined }) {
  const [shipped] = settings.tanks;
  const tank = await buildTank({ ...shipped, timeScale, pollHz: 4 }, configPath, baths, {
    store,
    guardian,
    alerts: unsaid,
    judged: () => judged(tank),
    publish: () => undefined,
  });
  tank.start();
  await until('the simulated supply', () => tank.link.connected && tank.output === 'confirmedOff');
  const desk = new CommandDesk({
    tanks: new Map([[tank.id, tank]]),
    baths,
    store,
    listPorts: async () => [],
    materials: () => materials,
    settings: { leaving: false, whyLineWaits: () => null },
  });
  return {
    tank,
    async startDemo(key) {
      const command = { kind: 'demo', tankId: tank.id, by: 'benchmark' };
      const answer = await desk.answer({ id: 1, key, command });
      if (!answer.ok) throw new Error(answer.reason);
    },
    close: () => tank.close('The benchmark is over.'),
  };
}

/** The record of a demonstration run as it is when it is armed. */
export async function demoRecord() {
  const bench = await startTank({ store: forgetfulStore(), timeScale: 1 });
  await bench.startDemo('record');
  const record = structuredClone(bench.tank.run.record);
  await bench.close();
  return record;
}

/** Puts a tank together from its settings: dialect, line, clock, driver. */

import { randomInt } from 'node:crypto';
import { dirname, isAbsolute, resolve } from 'node:path';
import {
  createRectifier,
  createSimulatedBench,
  parseDialect,
  type RectifierSpec,
} from '../../drivers/registry.ts';
import type { Bath } from '../chemistry/model.ts';
import type { TankSettings } from '../settings/model.ts';
import { loadDialect } from '../settings/door.ts';
import { realClock, type TankClock } from './clock.ts';
import { Tank, type TankParts } from './tank.ts';

type SharedParts = Pick<TankParts, 'store' | 'guardian' | 'publish' | 'judged'>;

/** Builds a tank; nothing is opened yet. Throws with a sentence that names what is wrong. */
export async function buildTank(
  settings: TankSettings,
  settingsFile: string,
  baths: readonly Bath[],
  shared: SharedParts,
): Promise<Tank> {
  const bath = baths.find((one) => one.id === settings.bath);
  if (bath === undefined) {
    throw new Error(`Tank ${settings.id}: there is no bath "${settings.bath}".`);
  }
  const { link, clock } = lineOf(settings);
  const rectifier = await createRectifier({
    driver: driverOf(settings.rectifier.driver, settingsFile),
    dialect: parseDialect(loadDialect(settings.rectifier.dialect, process.env, settingsFile)),
    link,
    clock,
    expectIdentity: settings.rectifier.expectIdentity,
    hardLimits: { maxAmps: settings.maxAmps, maxVolts: settings.maxVolts },
    simulated: settings.rectifier.link.kind === 'in-process',
  });
  return new Tank({ ...shared, settings, bath, rectifier, clock });
}

function driverOf(name: string, settingsFile: string): string {
  return name === 'scpi' || isAbsolute(name) ? name : resolve(dirname(settingsFile), name);
}

function lineOf(settings: TankSettings): { link: RectifierSpec['link']; clock: TankClock } {
  const { link, dialect } = settings.rectifier;
  if (link.kind !== 'in-process') return { link, clock: realClock };
  const bench = createSimulatedBench({
    dialectName: dialect,
    anodeAreaDm2: settings.anodeAreaDm2,
    seed: randomInt(1, 2 ** 31),
  });
  const { clock } = bench;
  return {
    link: { kind: 'in-process', instrument: bench.instrument },
    clock: {
      nowMs: () => clock.nowMs(),
      sleep: (durationMs) => clock.sleep(durationMs),
      wallMs: () => Math.round(clock.wallMs()),
      virtual: true,
      get scale() {
        return clock.scale;
      },
      hurry: (scale) => clock.setScale(scale),
    },
  };
}

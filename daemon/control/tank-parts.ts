/** Puts a tank together from its settings: dialect, line, clock, driver. */

import { randomInt } from 'node:crypto';
import { dirname, isAbsolute, resolve } from 'node:path';
import {
  createRectifier,
  createSimulatedBench,
  parseDialect,
  withAmmeterFactor,
  type RectifierSpec,
} from '../../drivers/registry.ts';
import type { OffScript } from '../../drivers/contract.ts';
import type { Bath } from '../chemistry/model.ts';
import { areaDm2Now } from '../run/forecast.ts';
import type { Plan } from '../run/model.ts';
import type { TankSettings } from '../settings/model.ts';
import { loadDialect } from '../settings/door.ts';
import { realClock, type TankClock } from './clock.ts';
import { Tank } from './tank.ts';
import type { TankNeeds } from './tank-needs.ts';

type SharedParts = Pick<
  TankNeeds,
  'store' | 'guardian' | 'alerts' | 'publish' | 'judged' | 'onStarted' | 'onSettled'
> & {
  /** Told how another process would switch the supply off, before anything is armed. */
  readonly onWay?: (tankId: string, script: OffScript, cycleMs: number) => void;
};

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
  const { link, clock, hang } = lineOf(settings);
  const factor = settings.rectifier.ammeterFactor ?? 1;
  const supply = await createRectifier({
    driver: driverOf(settings.rectifier.driver, settingsFile),
    dialect: parseDialect(loadDialect(settings.rectifier.dialect, process.env, settingsFile)),
    link,
    clock,
    expectIdentity: settings.rectifier.expectIdentity,
    // The driver speaks in amperes as the supply has them.
    hardLimits: { maxAmps: settings.maxAmps / factor, maxVolts: settings.maxVolts },
    simulated: settings.rectifier.link.kind === 'in-process',
  });
  const rectifier = withAmmeterFactor(supply, factor);
  const tank = new Tank({ ...shared, settings, bath, rectifier, clock, hang });
  shared.onWay?.(tank.id, rectifier.offScript, tank.cycleMs);
  return tank;
}

function driverOf(name: string, settingsFile: string): string {
  return name === 'scpi' || isAbsolute(name) ? name : resolve(dirname(settingsFile), name);
}

interface TankLine {
  readonly link: RectifierSpec['link'];
  readonly clock: TankClock;
  readonly hang: (plan: Plan) => void;
}

function lineOf(settings: TankSettings): TankLine {
  const { link, dialect } = settings.rectifier;
  if (link.kind !== 'in-process') return { link, clock: realClock, hang: () => undefined };
  const bench = createSimulatedBench({
    dialectName: dialect,
    anodeAreaDm2: settings.anodeAreaDm2,
    seed: randomInt(1, 2 ** 31),
  });
  const { clock } = bench;
  return {
    hang: (plan) =>
      bench.hang({
        areaDm2: plan.areaDm2.value,
        paint: plan.request.paint,
        growthDm2PerAmpHour: Math.max(
          0,
          (areaDm2Now(plan, plan.targetChargeAmpHours) - plan.areaDm2.value) /
            plan.targetChargeAmpHours,
        ),
      }),
    link: { kind: 'in-process', instrument: bench.instrument },
    clock: {
      nowMs: () => clock.nowMs(),
      sleep: (durationMs) => clock.sleep(durationMs),
      wallMs: () => Math.round(clock.wallMs()),
      bootClocks: () => null,
      virtual: true,
      get scale() {
        return clock.scale;
      },
      hurry: (scale) => clock.setScale(scale),
    },
  };
}

/** A tank's rectifier as the settings describe it, without opening it; and what planning must know. */

import { createRectifier, parseDialect, systemClock } from '../../drivers/registry.ts';
import type { Rectifier } from '../../drivers/contract.ts';
import { tankFacts } from '../control/door.ts';
import type { TankFacts } from '../run/model.ts';
import { loadDialect } from '../settings/door.ts';
import type { LoadedSettings } from '../settings/door.ts';
import type { TankSettings } from '../settings/model.ts';

/** A simulated supply lives in the daemon; here only its range is asked for, and nothing is opened. */
const nowhere = { kind: 'tcp', host: '127.0.0.1', port: 1 } as const;

/** The rectifier of a tank; nothing is opened yet. */
export function rectifierOf(
  tank: TankSettings,
  loaded: LoadedSettings,
  env: NodeJS.ProcessEnv,
): Promise<Rectifier> {
  const { driver, dialect, link, expectIdentity } = tank.rectifier;
  const simulated = link.kind === 'in-process';
  return createRectifier({
    driver,
    dialect: parseDialect(loadDialect(dialect, env, loaded.file)),
    link: simulated ? nowhere : link,
    clock: systemClock,
    expectIdentity,
    hardLimits: { maxAmps: tank.maxAmps, maxVolts: tank.maxVolts },
    simulated,
  });
}

/** The maker's limits within what the supply can do. */
export async function tankFactsOf(
  tank: TankSettings,
  loaded: LoadedSettings,
  env: NodeJS.ProcessEnv,
): Promise<TankFacts> {
  return tankFacts(tank, await rectifierOf(tank, loaded, env));
}

/** The tank of that name, or the only one; throws with the known ones. */
export function tankNamed(loaded: LoadedSettings, id: string): TankSettings {
  const { tanks } = loaded.settings;
  const found = tanks.find((tank) => tank.id === id);
  if (found !== undefined) return found;
  const known = tanks.map((tank) => `"${tank.id}"`).join(', ');
  throw new Error(`There is no tank "${id}" in ${loaded.file}. Known: ${known}.`);
}

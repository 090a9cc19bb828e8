/** What planning has to know of a tank: its settings, within what its supply can do. */

import type { Rectifier } from '../../drivers/contract.ts';
import type { TankFacts } from '../run/model.ts';
import type { TankSettings } from '../settings/model.ts';

export function tankFacts(tank: TankSettings, rectifier: Rectifier): TankFacts {
  const { range, capabilities } = rectifier;
  return {
    id: tank.id,
    name: tank.name,
    volumeLitres: tank.volumeLitres,
    anodeAreaDm2: tank.anodeAreaDm2,
    simulated: rectifier.simulated,
    maxAmps: Math.min(tank.maxAmps, range.maxAmps),
    maxVolts: Math.min(tank.maxVolts, range.maxVolts),
    maxHours: tank.maxHours,
    supply: {
      minAmps: range.minAmps,
      maxAmps: range.maxAmps,
      stepAmps: range.stepAmps,
      maxVolts: range.maxVolts,
      stepVolts: range.stepVolts,
      meterUncertainty: tank.rectifier.meterUncertainty,
      overVoltageLevel: capabilities.overVoltageLevel,
      overCurrentLevel: capabilities.overCurrentLevel,
    },
  };
}
